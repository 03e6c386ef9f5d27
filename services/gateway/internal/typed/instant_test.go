package typed

import (
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/services/gateway/internal/words"
)

// In Chicago the clocks went forward on 8 March 2026 at two, and back on 1 November at two (IANA time zone database).
func TestForm_AnInstant(t *testing.T) {
	zone, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	form := func() *Form { return &Form{Voice: &words.Voice{Language: "en", Zone: zone}} }
	for text, want := range map[string]string{"2026-03-02T17:30": "2026-03-02T23:30:00Z", "2026-07-02 17:30": "2026-07-02T22:30:00Z", "2026-03-02T08:00:00Z": "2026-03-02T08:00:00Z"} {
		f := form()
		if got := f.AnInstant(text); f.Err() != nil || got.AsTime().Format(time.RFC3339) != want {
			t.Errorf("%q is %v (%v), want %s", text, got.AsTime(), f.Err(), want)
		}
	}
	for _, text := range []string{"2026-03-08T02:30", "2026-11-01T01:30", "tomorrow", "2026-02-30T10:00"} {
		f := form()
		if got := f.AnInstant(text); got != nil || !fault.Is(f.Err(), "TIME_UNREADABLE") {
			t.Errorf("%q is %v (%v)", text, got, f.Err())
		}
	}
	if f := form(); f.AnInstant("") != nil || f.Err() != nil {
		t.Error("nothing typed is refused, or is a time")
	}
}
