package scenario_test

import (
	"io/fs"
	"strings"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/timeofday"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/scenario"
	"tackfree/testdata/demo"
	"tackfree/testdata/week"
)

// Who has no working days gets no place in a plan: everybody of the stories has some.
func TestStories_EverybodyHasWorkingDays(t *testing.T) {
	for name, files := range map[string]fs.FS{"story": demo.Files, "week": week.Files} {
		s, err := scenario.Read(files, "shop.json")
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range s.People {
			if days, err := client.WorkingDays(p.Works, p.Breaks); err != nil || len(days) == 0 {
				t.Errorf("%s: %s works on %d days, %v", name, p.Name, len(days), err)
			}
		}
	}
}

// What the demo's people do, they do in their hours and not in a break.
func TestDemo_WorkIsWithinHours(t *testing.T) {
	s, err := scenario.Read(demo.Files, "shop.json")
	if err != nil {
		t.Fatal(err)
	}
	hours := map[string][]*workflowv1.WorkingDay{}
	for _, p := range s.People {
		if hours[p.Name], err = client.WorkingDays(p.Works, p.Breaks); err != nil {
			t.Fatal(err)
		}
	}
	worked := 0
	for _, step := range s.Steps {
		if w := step.Work; w != nil && strings.HasPrefix(w.Until, step.At[:10]) {
			worked++
			if !within(t, hours[w.Who], step.At, w.Until) {
				t.Errorf("%s works from %s to %s, which is not in their hours", w.Who, step.At, w.Until)
			}
		}
	}
	if worked < 80 {
		t.Errorf("%d stretches of work were looked at, want those of the story", worked)
	}
}

func within(t *testing.T, days []*workflowv1.WorkingDay, from, to string) bool {
	t.Helper()
	day, err := time.Parse(time.DateOnly, from[:10])
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range days {
		if int(d.Day)%7 == int(day.Weekday()) {
			pause := d.Breaks[0]
			return from[11:] >= shown(d.Start) && to[11:] <= shown(d.End) && (to[11:] <= shown(pause.Start) || from[11:] >= shown(pause.End))
		}
	}
	return false
}

// shown is a time of day as the story writes it.
func shown(at *timeofday.TimeOfDay) string {
	return time.Date(1, 1, 1, int(at.Hours), int(at.Minutes), 0, 0, time.UTC).Format("15:04")
}
