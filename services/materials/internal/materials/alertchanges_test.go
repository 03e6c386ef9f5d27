package materials_test

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
)

// board keeps alerts as the tables do.
type board struct {
	open map[id.ID]materials.OpenAlert
	ever map[id.ID]bool
}

// change does what Changes says, and refuses what no table would take.
func (b *board) change(t *rapid.T, due []materials.Alert) (changes []materials.ChangedAlert) {
	var open []materials.OpenAlert
	for _, o := range b.open {
		open = append(open, o)
	}
	changes = materials.Changes(open, due, id.New)
	for _, c := range changes {
		was, isOpen := b.open[c.ID]
		switch c.Change {
		case materials.AlertRaised:
			if b.ever[c.ID] {
				t.Fatalf("%v is raised a second time", c)
			}
			b.open[c.ID], b.ever[c.ID] = c.OpenAlert, true
		case materials.AlertUpdated:
			if !isOpen || was.Text == c.Text && was.Due.Equal(c.Due) {
				t.Fatalf("%v is updated, and was %v", c, was)
			}
			b.open[c.ID] = c.OpenAlert
		case materials.AlertClosed:
			if !isOpen {
				t.Fatalf("%v is closed and was not open", c)
			}
			delete(b.open, c.ID)
		}
	}
	return changes
}

// Whatever comes and goes, an alert is open if and only if what it warns of holds, says what is
// so now, and is never there twice; and when nothing changes nothing is told.
func TestChanges_OpenIfAndOnlyIfItHolds(t *testing.T) {
	day := time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)
	rapid.Check(t, func(t *rapid.T) {
		b := board{map[id.ID]materials.OpenAlert{}, map[id.ID]bool{}}
		for range rapid.IntRange(1, 12).Draw(t, "turns") {
			holds := map[string]materials.Alert{}
			var due []materials.Alert
			for range rapid.IntRange(0, 6).Draw(t, "due") {
				a := materials.Alert{
					Kind: rapid.SampledFrom([]materials.AlertKind{materials.OrderNow, materials.StageStandsStill}).Draw(t, "kind"),
					Key:  rapid.SampledFrom([]string{"shellac", "wax", "stain"}).Draw(t, "key"),
					Text: rapid.SampledFrom([]string{"Order 1.", "Order 2."}).Draw(t, "text"),
					Due:  day.AddDate(0, 0, rapid.IntRange(0, 1).Draw(t, "day")),
				}
				due = append(due, a)
				if k := fmt.Sprint(a.Kind, a.Key); holds[k].Key == "" {
					holds[k] = a
				}
			}
			b.change(t, due)
			if len(b.open) != len(holds) {
				t.Fatalf("%d are open of %d that hold", len(b.open), len(holds))
			}
			for _, o := range b.open {
				if want := holds[fmt.Sprint(o.Kind, o.Key)]; want != o.Alert {
					t.Fatalf("open is %v, want %v", o.Alert, want)
				}
			}
			if again := b.change(t, due); len(again) > 0 {
				t.Fatalf("nothing changed, and it tells %v", again)
			}
		}
	})
}
