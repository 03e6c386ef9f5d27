package bench

import "testing"

// What package stock advises runs out at most a third as often as a threshold, at no more money.
func TestRunRestock(t *testing.T) {
	r, err := RunRestock()
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%+v", r)
	if 3*r.Policy.Stockouts > r.Threshold.Stockouts || r.Policy.TiedUp > r.Threshold.TiedUp {
		t.Errorf("policy %+v, threshold %+v", r.Policy, r.Threshold)
	}
}
