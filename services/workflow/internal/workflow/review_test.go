package workflow_test

import (
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// weekdays are Monday to Friday from eight to half past four, with lunch at noon.
func weekdays() []workflow.WorkingDay {
	var week []workflow.WorkingDay
	for day := time.Monday; day <= time.Friday; day++ {
		week = append(week, workflow.WorkingDay{Weekday: day, Hours: workflow.Hours{Start: 8 * 60, End: 16*60 + 30}, Breaks: []workflow.Hours{{Start: 12 * 60, End: 12*60 + 30}}})
	}
	return week
}

// A clock is forgotten when its shift has been over for half an hour; of somebody of whom
// nobody said when they work, when it has run for half a day.
func TestPerson_Overrun(t *testing.T) {
	chicago, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	monday := func(hour, minute int) time.Time { return time.Date(2026, 3, 2, hour, minute, 0, 0, chicago) }
	nell, odo := workflow.Person{Name: "Nell", Week: weekdays()}, workflow.Person{Name: "Odo"}
	for _, c := range []struct {
		name       string
		who        workflow.Person
		start, now time.Time
		end        time.Time
		want       bool
	}{
		{"InTheShift", nell, monday(13, 0), monday(16, 0), monday(16, 30), false},
		{"JustOver", nell, monday(13, 0), monday(17, 0), monday(16, 30), false},
		{"LongOver", nell, monday(13, 0), monday(17, 1), monday(16, 30), true},
		{"BeganBefore", nell, monday(7, 0), monday(17, 1), monday(16, 30), true},
		{"NobodySaid", odo, monday(8, 0), monday(20, 0), monday(20, 0), false},
		{"NobodySaidLong", odo, monday(8, 0), monday(20, 1), monday(20, 0), true},
	} {
		end, got := c.who.Overrun(c.start, c.now)
		if got != c.want || !end.Equal(c.end) {
			t.Errorf("%s: Overrun = %v, %v, want %v, %v", c.name, end, got, c.end, c.want)
		}
	}
}

func TestReview_Settle(t *testing.T) {
	ways := []workflow.Settlement{workflow.WasClockedOff, workflow.Accepted, workflow.Dismissed}
	for kind, fits := range map[workflow.ReviewKind][]string{
		workflow.Forgotten:    {"", "SETTLEMENT_UNFIT", ""},
		workflow.Contradicted: {"SETTLEMENT_UNFIT", "", ""},
		workflow.Refused:      {"SETTLEMENT_UNFIT", "", ""},
		workflow.Skewed:       {"SETTLEMENT_UNFIT", "", ""},
	} {
		for i, how := range ways {
			r := workflow.Review{Kind: kind}
			if got := fault.Reason(r.Settle(how, "Opal", "asked them", nine)); got != fits[i] {
				t.Errorf("%s %s = %q, want %q", kind, how, got, fits[i])
			}
			if fits[i] != "" {
				continue
			}
			refusedWords(t, r.Settle(workflow.Dismissed, "Ira", "again", nine), "REVIEW_SETTLED", "Opal", string(how))
		}
	}
}

func TestRaise_SaysWhatKindItIs(t *testing.T) {
	nell := workflow.Person{ID: id.New(), Name: "Nell"}
	for reason, want := range map[string]workflow.ReviewKind{
		"CLOCK_OVERLAP": workflow.Contradicted, "CLOCK_OPEN": workflow.Contradicted, "DEVICE_SKEWED": workflow.Skewed, "SKILL_MISSING": workflow.Refused, "STAGE_NOT_FOUND": workflow.Refused,
	} {
		r := workflow.Raise(id.New(), nell, workflow.SentEntry{}, fault.New(fault.Precondition, reason, "why"), nil, nine)
		if r.Kind != want || r.Reason != "why" || r.Sent == nil || r.Person != nell.ID {
			t.Errorf("Raise(%s) = %+v, want %s", reason, r, want)
		}
	}
}

// What the lead reads names the batch, and speaks of a shift only where there was one.
func TestForget_SaysWhatIsKnown(t *testing.T) {
	sunday := nine.AddDate(0, 0, -1)
	nell, odo := workflow.Person{Name: "Nell", Week: weekdays()}, workflow.Person{Name: "Odo"}
	for _, c := range []struct {
		who   workflow.Person
		start time.Time
		batch string
		want  string
	}{
		{nell, nine, "", "Nell is on the clock at strip (top) of piece 7 since Mon 2 Mar 2026 14:00 UTC, and the shift was over at Mon 2 Mar 2026 16:30 UTC."},
		{nell, nine, "blue fronts", `Nell is on the clock at the batch "blue fronts" since Mon 2 Mar 2026 14:00 UTC, and the shift was over at Mon 2 Mar 2026 16:30 UTC.`},
		{odo, nine, "", "Odo is on the clock at strip (top) of piece 7 since Mon 2 Mar 2026 14:00 UTC, 12:01 hours by now, and nobody said when Odo works."},
		{nell, sunday, "", "Nell is on the clock at strip (top) of piece 7 since Sun 1 Mar 2026 14:00 UTC, 12:01 hours by now, and in no shift of theirs."},
	} {
		e := closed()
		e.Start, e.End = c.start, time.Time{}
		end, _ := c.who.Overrun(c.start, c.start)
		if got := workflow.Forget(id.New(), c.who, e, c.batch, end, c.start.Add(12*time.Hour+time.Minute)).Reason; got != c.want {
			t.Errorf("Forget says\n%q, want\n%q", got, c.want)
		}
	}
}
