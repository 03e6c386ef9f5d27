package workflow_test

import (
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// onPhone is what Nell's phone kept of half an hour, with a clock so far ahead of ours.
func onPhone(skew time.Duration) workflow.SentEntry {
	return workflow.SentEntry{Device: "Nell's phone", Skew: skew, Start: nine.Add(skew), End: nine.Add(skew + 30*time.Minute)}
}

// Two minutes either way is what people round to; more is noted and not taken. How much it is is
// said to the second.
func TestSentEntry_Trusted(t *testing.T) {
	for skew, want := range map[time.Duration]string{0: "", 2 * time.Minute: "", -2 * time.Minute: "", 121 * time.Second: "2:01 minutes ahead of", -181 * time.Second: "3:01 minutes behind",
		-time.Hour: "1:00:00 hours behind", 26*time.Hour + 61*time.Second: "26:01:01 hours ahead of"} {
		err := onPhone(skew).Trusted(nine.Add(time.Hour))
		if want == "" && err != nil {
			t.Errorf("Trusted(%v) = %v", skew, err)
		}
		if want != "" {
			refusedWords(t, err, "DEVICE_SKEWED", "Nell's phone", want+" the shop's")
		}
	}
}

// A clock that was set back between start and end, or before the entry was sent, tells nothing.
func TestSentEntry_Trusted_SetBack(t *testing.T) {
	s := onPhone(0)
	s.End = s.Start
	refusedWords(t, s.Trusted(nine.Add(time.Hour)), "CLOCK_ENDS_BEFORE_START", "14:00")
	s = onPhone(time.Minute)
	if err := s.Trusted(nine.Add(29 * time.Minute)); err != nil {
		t.Errorf("a minute is what people round to: %v", err)
	}
	refusedWords(t, s.Trusted(nine.Add(28*time.Minute)), "TIME_IN_FUTURE", "14:31", "which showed Mon 2 Mar 2026 14:29")
}

// By a wrong clock the lead says each time, or takes off the skew; a right one is believed.
func TestSentEntry_Accept(t *testing.T) {
	half, off := nine.Add(30*time.Minute), -7*time.Minute
	ends := onPhone(off)
	ends.Ends, ends.Start = id.New(), time.Time{}
	for name, c := range map[string]struct {
		sent         workflow.SentEntry
		begun, ended time.Time
		less         bool
		start, end   time.Time
		want         string
	}{
		"Right":            {sent: onPhone(time.Minute), start: nine.Add(time.Minute), end: half.Add(time.Minute)},
		"RightAndLess":     {sent: onPhone(time.Minute), less: true, start: nine, end: half},
		"Wrong":            {sent: onPhone(off), want: "SETTLEMENT_UNFIT"},
		"WrongLess":        {sent: onPhone(off), less: true, start: nine, end: half},
		"WrongWithStart":   {sent: onPhone(off), begun: nine, want: "SETTLEMENT_UNFIT"},
		"WrongWithEnd":     {sent: onPhone(off), ended: half, want: "SETTLEMENT_UNFIT"},
		"WrongWithBoth":    {sent: onPhone(off), begun: nine.Add(time.Second), ended: half, start: nine.Add(time.Second), end: half},
		"WrongLessButEnd":  {sent: onPhone(off), ended: half.Add(time.Hour), less: true, start: nine, end: half.Add(time.Hour)},
		"WrongEnd":         {sent: ends, want: "SETTLEMENT_UNFIT"},
		"WrongEndLess":     {sent: ends, less: true, end: half},
		"WrongEndThatSays": {sent: ends, ended: half, end: half},
	} {
		got, err := c.sent.Accept(c.begun, c.ended, c.less)
		if fault.Reason(err) != c.want || c.want == "" && (!got.Start.Equal(c.start) || !got.End.Equal(c.end)) {
			t.Errorf("%s: Accept = %v to %v, %v, want %v to %v, %q", name, got.Start, got.End, err, c.start, c.end, c.want)
		}
	}
	_, err := onPhone(off).Accept(time.Time{}, time.Time{}, false)
	refusedWords(t, err, "SETTLEMENT_UNFIT", "7:00 minutes behind", "less that", "really began")
}

// What only ends a clock, or lies the wrong way round, lies nowhere.
func TestSentEntry_Span(t *testing.T) {
	whole, runs, backwards, ends := onPhone(0), onPhone(0), onPhone(0), onPhone(0)
	runs.End, backwards.End, ends.Start = time.Time{}, nine, time.Time{}
	for name, c := range map[string]struct {
		workflow.SentEntry
		want bool
	}{"Whole": {whole, true}, "Runs": {runs, true}, "Backwards": {backwards, false}, "Ends": {ends, false}} {
		if start, end, lies := c.Span(); lies != c.want || !start.Equal(c.Start) || !end.Equal(c.End) {
			t.Errorf("%s: Span = %v, %v, %v, want it to lie: %v", name, start, end, lies, c.want)
		}
	}
}

// What a device sent is asked what would have been asked at the shop, as far as that can be told:
// what had to come before is of the pass in which it was done.
func TestRecorded_Sent(t *testing.T) {
	half := nine.Add(30 * time.Minute)
	read := func(f *workflow.Facts) {
		f.Stage.Cautions, f.Said = []string{"dust", "fire"}, []string{"fire", "dragons", "dust"}
	}
	for name, c := range map[string]struct {
		spoil func(*workflow.Facts)
		want  string
	}{
		"AsItShould":  {read, ""},
		"ReadBefore":  {func(f *workflow.Facts) { f.Stage.Cautions, f.Read = []string{"dust"}, []string{"dust"} }, ""},
		"Unread":      {func(f *workflow.Facts) { read(f); f.Said = f.Said[:2] }, "CAUTIONS_NOT_ACKNOWLEDGED"},
		"NotReady":    {func(f *workflow.Facts) { f.OpenBefore = []string{"clean (top)"} }, "STAGE_NOT_READY"},
		"NotNow":      {func(f *workflow.Facts) { f.OpenBefore, f.Stage.SentBack = []string{"clean (top)"}, []time.Time{half} }, ""},
		"OfAnother":   {func(f *workflow.Facts) { f.Stage.Assignee, f.Stage.AssignedTo = id.New(), "Ira" }, "STAGE_OF_ANOTHER"},
		"Lead":        {func(f *workflow.Facts) { f.Stage.DisturbsOld = true }, "LEAD_UNTESTED"},
		"Scrapped":    {func(f *workflow.Facts) { f.Piece.Scrapped, f.Piece.ScrappedAt = true, nine }, "PIECE_SCRAPPED"},
		"LateScrap":   {func(f *workflow.Facts) { f.Piece.Scrapped, f.Piece.ScrappedAt = true, half }, ""},
		"Finished":    {func(f *workflow.Facts) { f.Stage.FinishedAt = nine }, ""},
		"SomethingOn": {func(f *workflow.Facts) { f.Other = onOther(half) }, "CLOCK_OVERLAP"},
	} {
		f := facts()
		f.Sent = true
		c.spoil(&f)
		if _, err := workflow.Recorded(f, id.New(), nine, half, "Nell", ""); fault.Reason(err) != c.want {
			t.Errorf("%s: Recorded = %v, want %q", name, err, c.want)
		}
		if f.Sent = false; c.want == "CLOCK_OVERLAP" || c.want == "PIECE_SCRAPPED" {
			continue
		}
		if _, err := workflow.Recorded(f, id.New(), nine, half, "Opal", "nobody clocked it"); err != nil {
			t.Errorf("%s: written down by somebody = %v", name, err)
		}
	}
}
