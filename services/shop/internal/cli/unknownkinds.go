package cli

import (
	"fmt"
	"strings"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// noteUnknown says on standard error which kinds of stage no plan has yet: a shop may invent kinds, so it
// is no fault, but it may be a mistyped one.
func noteUnknown(e *env, kinds ...*costingv1.UnknownStageKind) {
	for _, k := range kinds {
		if k == nil {
			continue
		}
		meant := "."
		if len(k.Near) > 0 {
			meant = "; did you mean " + strings.Join(k.Near, " or ") + "?"
		}
		fmt.Fprintf(e.errs, "No plan has a stage of the kind %q yet%s\n", k.StageKind, meant)
	}
}
