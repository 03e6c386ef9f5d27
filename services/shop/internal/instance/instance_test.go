package instance_test

import (
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/services/shop/internal/instance"
)

// shop is the job shop of Fisher and Thompson, Industrial Scheduling (1963), 225-251; its shortest schedule takes 55.
const shop = `6 6
2 1 0 3 1 6 3 7 5 3 4 6
1 8 2 5 4 10 5 10 0 10 3 4
2 5 3 4 5 8 0 9 1 1 4 7
1 5 0 5 2 5 3 3 4 8 5 9
2 9 1 3 4 5 5 4 0 3 3 1
1 3 3 3 5 9 0 10 4 4 2 1
`

// flexible has two jobs on two machines that do everything alike: 3 + 3 on one and 4 on the other, or 6 at least.
const flexible = `2 2 2
2 2 1 3 2 3 2 1 3 2 3
1 2 1 4 2 4
`

// project has two activities that want the one there is, between a beginning and an end: 2 + 3.
const withLags = `2 1 0 0
0 1 2 1 2 [0] [0]
1 1 1 3 [2]
2 1 1 3 [3]
3 1 0
0 1 0 0
1 1 2 1
2 1 3 1
3 1 0 0
1
`

const precedence = `jobs (incl. supersource/sink ):  4
jobnr.    #modes  #successors   successors
   1        1          2           2   3
   2        1          1           4
   3        1          1           4
   4        1          0
jobnr. mode duration  R 1
-------------------------
  1      1     0       0
  2      1     3       2
  3      1     4       1
  4      1     0       0
RESOURCEAVAILABILITIES:
  R 1
    2
`

// floor has a stool to be painted twice by Bea, who is there two hours a day; between the coats an hour of drying, and
// no more than two: the second does not wait for the next day.
const floor = `{"format": "shop-instance/1", "name": "stool", "epoch": "2026-03-02T00:00", "horizon": 2880, "grid": 5, "now": 0,
 "calendars": {"day": [[480, 600], [1920, 2040]]}, "workers": [{"id": "Bea", "calendar": "day"}], "stations": [{"id": "bench", "capacity": 1, "calendar": null}],
 "pieces": [{"id": "stool", "type": "stool", "release": 0, "due": 560, "weight": 2, "ops": [
  {"id": "first", "name": "paint", "splittable": false, "demand": 1, "stations": ["bench"], "modes": [{"worker": "Bea", "dur": 30}]},
  {"id": "second", "name": "paint", "splittable": false, "demand": 1, "stations": ["bench"], "modes": [{"worker": "Bea", "dur": 30}]}],
  "lags": [{"from": "first", "to": "second", "min": 60, "max": 120}]}], "frozen": []}`

func solve(t *testing.T, text string, f instance.Format, due float64) (*instance.Answer, error) {
	t.Helper()
	p, err := instance.Read([]byte(text), f)
	if err == nil && due > 0 {
		p, err = instance.Due(p, 0, due)
	}
	if err != nil {
		t.Fatal(err)
	}
	return p.Solve(t.Context(), instance.Options{Seed: 1, Budget: 2 * time.Second})
}

// Each format is planned as well as can be, says so, and is drawn.
func TestSolve(t *testing.T) {
	for name, c := range map[string]struct {
		text                string
		format              instance.Format
		due                 float64
		objective, makespan int64
		proven              bool
		operations          int
	}{
		"job shop":   {shop, instance.JobShop, 0, 55, 55, true, 36},
		"in time":    {shop, instance.JobShop, 9, 0, -1, true, 36},
		"flexible":   {flexible, instance.Flexible, 0, 6, 6, false, 3},
		"precedence": {precedence, instance.Project, 0, 7, 7, true, 4},
		"lags":       {withLags, instance.WithLags, 0, 5, 5, true, 4},
		"floor":      {floor, instance.Floor, 0, 2 * 40, 600, false, 2},
	} {
		a, err := solve(t, c.text, c.format, c.due)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if a.Objective != c.objective || c.makespan >= 0 && int64(a.Makespan) != c.makespan || a.LowerBound > a.Objective || c.proven && a.LowerBound != a.Objective {
			t.Errorf("%s: objective %d, makespan %d, none below %d; want %+v", name, a.Objective, a.Makespan, a.LowerBound, c)
		}
		asFile(t, name, a, c.operations)
	}
}

// asFile looks at what is written of an answer.
func asFile(t *testing.T, name string, a *instance.Answer, operations int) {
	t.Helper()
	var file struct {
		Makespan   *int              `json:"makespan"`
		Operations []json.RawMessage `json:"operations"`
		Ops        []json.RawMessage `json:"ops"`
	}
	if err := json.Unmarshal(a.Schedule, &file); err != nil || len(file.Operations)+len(file.Ops) != operations {
		t.Errorf("%s: the file has %d operations, want %d: %v", name, len(file.Operations)+len(file.Ops), operations, err)
	}
	if strings.Contains(string(a.Chart()), "%!") {
		t.Errorf("%s: a figure of the drawing is not written:\n%s", name, a.Chart())
	}
	drawn := 0
	for d := xml.NewDecoder(strings.NewReader(string(a.Chart()))); ; {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatalf("%s: the drawing is no XML: %v", name, err)
		}
		if e, is := token.(xml.StartElement); is && e.Name.Local == "rect" {
			drawn++
		}
	}
	if drawn < operations {
		t.Errorf("%s: %d bars are drawn, want %d at least", name, drawn, operations)
	}
}

// Where there is no plan, it says what is in the way.
func TestSolve_NoPlan(t *testing.T) {
	for name, c := range map[string]struct {
		text   string
		format instance.Format
		want   string
	}{
		"of a floor":   {strings.Replace(floor, `"dur": 30`, `"dur": 130`, 1), instance.Floor, "Piece stool, operation first (paint), 130 minutes: Bea is there 120 minutes at a stretch at most, as from Mon 2 Mar 08:00 to Mon 2 Mar 10:00, and the last time until Tue 3 Mar 10:00. That has to give."},
		"of a project": {strings.Replace(withLags, "1 1 1 3 [2]", "1 1 2 2 3 [-1] [2]", 1), instance.WithLags, "It is proved that there is no plan"},
	} {
		text := c.text
		if c.format == instance.WithLags { // both ways at most 1 apart, where they have to be 2 or 3
			text = strings.Replace(text, "2 1 1 3 [3]", "2 1 2 1 3 [-1] [3]", 1)
		}
		if _, err := solve(t, text, c.format, 0); !fault.Is(err, "NO_PLAN") || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}

func TestRead_Refuses(t *testing.T) {
	for _, f := range append(instance.Formats, "music") {
		if _, err := instance.Read([]byte("not that"), f); !errors.Is(err, fault.Invalid) {
			t.Errorf("%s: %v", f, err)
		}
	}
}
