package film

import (
	"tackfree/pkg/printed/tagged"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// Lead is what is known of lead in a part's old coating.
type Lead string

// The words. Without a test it is presumed.
const (
	LeadPresumed Lead = "presumed"
	LeadFree     Lead = "free"
	LeadFound    Lead = "found"
	LeadAccepted Lead = "accepted"
)

// LeadOf is what the last lead test of a part, or of the whole piece, says, of tests that are the newest first.
func LeadOf(tests []*workflowv1.PartTest, part string) Lead {
	switch tagged.LeadOf(tests, part) {
	case workflowv1.Lead_RESULT_FREE:
		return LeadFree
	case workflowv1.Lead_RESULT_FOUND:
		return LeadFound
	case workflowv1.Lead_RESULT_ACCEPTED_WITH_CONTROLS:
		return LeadAccepted
	}
	return LeadPresumed
}
