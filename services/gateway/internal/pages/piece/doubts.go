package piece

import (
	"time"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/gateway/internal/words"
)

// doubtsOf are the reasons why a piece's cost is not final, in the reader's language; one that the catalogue does not
// know, as the books gave it.
func doubtsOf(c *costingv1.PieceCost, v *words.Voice) (out []string) {
	for i, text := range c.GetProvisionalReasons() {
		if i < len(c.ProvisionalCauses) {
			text = doubt(c.ProvisionalCauses[i], text, v)
		}
		out = append(out, text)
	}
	return out
}

func doubt(c *costingv1.ProvisionalCause, text string, v *words.Voice) string {
	key := "piece.doubt." + c.GetReason()
	if !v.Has(key) {
		return text
	}
	details := make([]any, len(c.Details))
	for i, d := range c.Details {
		if day, err := time.Parse(time.DateOnly, d); err == nil {
			d = v.DayOf(time.Date(day.Year(), day.Month(), day.Day(), 12, 0, 0, 0, v.Zone))
		}
		details[i] = v.Word("kind", d)
	}
	return v.T(key, details...)
}
