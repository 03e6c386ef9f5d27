package costing_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"tackfree/services/costing/internal/costing"
)

// A kind that no plan has is named with those that it may have been meant for, the nearest first.
func TestUnknownKinds(t *testing.T) {
	planned := []string{"paint_coat", "sand", "scuff_sand", "seal", "stand", "topcoat_coat", "wax"}
	for kind, near := range map[string][]string{
		"topcoat_caot": {"topcoat_coat"}, "topcoat": {"topcoat_coat"}, "sanb": {"sand"}, "sand_fine": {"sand"}, "sad": {"sand"}, "no_such_kind": nil, "wxa": {"wax"}, "snad": {"sand"}, "polish": nil,
		"san": {"sand", "scuff_sand"}, "and": {"sand", "stand", "scuff_sand"}, "seel": {"seal"},
	} {
		got := costing.UnknownKinds([]string{"sand", kind, "wax"}, planned)
		if diff := cmp.Diff([]costing.UnknownKind{{Kind: kind, Near: near}}, got); diff != "" {
			t.Errorf("%s (-want +got):\n%s", kind, diff)
		}
	}
	if got := costing.UnknownKinds([]string{"stand"}, []string{"sand", "stand"}); got != nil {
		t.Errorf("a kind that a plan has is unknown: %v", got)
	}
	if got := costing.UnknownKinds([]string{"sand"}, nil); len(got) != 1 || got[0].Near != nil {
		t.Errorf("before there are plans: %v", got)
	}
	if got := costing.UnknownKinds([]string{"s"}, []string{"sand", "seal", "stain", "strip"}); len(got[0].Near) != 3 {
		t.Errorf("near to s are %v", got[0].Near)
	}
}
