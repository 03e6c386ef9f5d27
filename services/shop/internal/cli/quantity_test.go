package cli

import "testing"

// Amounts of the command line, those read off a rule in inches too, which are kept exactly.
func TestQuantity(t *testing.T) {
	t.Parallel()
	for text, want := range map[string][2]string{
		"120mL": {"120", "mL"}, "0.75 L": {"0.75", "L"}, "1 200mL": {"1200", "mL"}, "18 1/2in": {"18.5", "in"}, "18½in": {"18.5", "in"}, "18-1/2 in": {"18.5", "in"}, "3/4in": {"0.75", "in"}, "7 5/16 in": {"7.3125", "in"},
		"18 1/3in": {"18 1/3", "in"}, // which the service refuses
	} {
		if q, err := quantity(text); err != nil || q.Value != want[0] || q.Unit != want[1] {
			t.Errorf("quantity(%q) = %v, %v, want %v", text, q, err, want)
		}
	}
	for _, text := range []string{"", "in", "18", "½", " "} {
		if q, err := quantity(text); err == nil {
			t.Errorf("quantity(%q) = %v, want a refusal", text, q)
		}
	}
}
