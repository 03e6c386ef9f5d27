package film

import workflowv1 "tackfree/proto/tackfree/workflow/v1"

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
	for _, t := range tests {
		if t.Part != part && t.Part != "" {
			continue
		}
		switch t.GetLead().GetResult() {
		case workflowv1.Lead_RESULT_FREE:
			return LeadFree
		case workflowv1.Lead_RESULT_FOUND:
			return LeadFound
		case workflowv1.Lead_RESULT_ACCEPTED_WITH_CONTROLS:
			return LeadAccepted
		}
	}
	return LeadPresumed
}
