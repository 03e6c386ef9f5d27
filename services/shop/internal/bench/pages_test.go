package bench

import "testing"

// The page that is measured is whole, and what changes is seen; how fast it is on a busy machine says nothing.
func TestRunPages_Short(t *testing.T) {
	r, err := RunPages(t.Context(), short(t))
	if err != nil {
		t.Fatal(err)
	}
	if r.Changes < 3 || r.SeenP50ms <= 0 || r.SeenP99ms < r.SeenP50ms || r.PageP50ms <= 0 || r.FirstMs <= 0 {
		t.Errorf("it comes to %+v", r)
	}
	if r.UnpackedKB > 120 || r.SentKB > r.UnpackedKB/2 {
		t.Errorf("the day of %d pieces is %.0f kB, sent as %.0f; it is to stay below 120", r.Pieces, r.UnpackedKB, r.SentKB)
	}
	if r.StreamsMB <= 0 || r.StreamsMB > 60 {
		t.Errorf("%d event streams take %.0f MB", r.Streams, r.StreamsMB)
	}
	t.Logf("%+v", r)
}

func TestAnswer_WholeFindsAPartMissing(t *testing.T) {
	if err := (&answer{status: 200, body: []byte("day-work day-ready day-rack day-waits day-promises day-alerts Helper 3 Oak dresser with")}).whole(); err == nil {
		t.Error("a page without money is taken for whole")
	}
	if err := (&answer{status: 503}).whole(); err == nil {
		t.Error("no page is taken for whole")
	}
}
