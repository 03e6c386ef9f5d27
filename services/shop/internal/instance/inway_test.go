package instance_test

import (
	"strings"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/services/shop/internal/instance"
)

// The refusal names the piece, the operation, and each constraint of those that together are in the way.
func TestSolve_SaysWhatIsInTheWay(t *testing.T) {
	const bea = "Bea is there 120 minutes at a stretch at most, as from Mon 2 Mar 08:00 to Mon 2 Mar 10:00, and the last time until Tue 3 Mar 10:00"
	for name, x := range map[string]struct {
		old, new string
		want     string
	}{
		"a window that no two shifts allow": {`"min": 60, "max": 120`, `"min": 100, "max": 1000`,
			"Piece stool, operation first (paint): " + bea + "; operation second (paint) has to begin within 1000 minutes of the end of operation first (paint), and 100 after it at the soonest. One of these has to give."},
		"too late for any shift": {`"release": 0`, `"release": 2030`,
			bea + "; nothing is done on piece stool before Tue 3 Mar 09:50. One of these has to give."},
		"a bench closed while she is in": {`"capacity": 1, "calendar": null`, `"capacity": 1, "calendar": "night"`,
			bea + "; bench is open 200 minutes at a stretch at most, as from Mon 2 Mar 10:00 to Mon 2 Mar 13:20, and the last time until Mon 2 Mar 13:20. One of these has to give."},
		"nobody": {`[{"worker": "Bea", "dur": 30}]}],`, `[]}],`, "nobody can do operation second (paint). That has to give."},
		"what is fixed": {`"frozen": []`, `"frozen": [{"op": "first", "worker": "Bea", "station": "bench", "start": 540, "end": 570}]`,
			"Piece stool, operation second (paint): " + bea + "; operation second (paint) has to begin within 120 minutes of the end of operation first (paint), and 60 after it at the soonest; " +
				"operation first (paint) is fixed from Mon 2 Mar 09:00 to Mon 2 Mar 09:30 by Bea at bench. One of these has to give."},
		"another colour just before": {`"frozen": []`, `"frozen": [{"op": "first", "worker": "Bea", "station": "bench", "start": 480, "end": 510}]`,
			"by Bea at bench; bench has to be cleaned between colours. One of these has to give."},
		"no calendar of days": {`"epoch": "2026-03-02T00:00", "horizon": 2880`, `"horizon": 500`,
			"Piece stool, operation first (paint): Bea is there 20 minutes at a stretch at most, as from minute 480 to minute 500, and the last time until minute 500; the plan ends at minute 500"},
	} {
		text := strings.Replace(floor, `"calendars": {`, `"calendars": {"night": [[600, 800]], `, 1)
		if name == "another colour just before" {
			text = strings.NewReplacer(`"id": "first"`, `"id": "first", "colour": 1`, `"id": "second"`, `"id": "second", "colour": 2`, `"calendar": null}`, `"calendar": null, "changeover": [[0, 0, 0], [0, 0, 80], [0, 80, 0]]}`).Replace(text)
		}
		spoilt := strings.Replace(text, x.old, x.new, 1)
		if spoilt == text {
			t.Fatalf("%s: nothing is replaced", name)
		}
		p, err := instance.Read([]byte(spoilt), instance.Floor)
		if err != nil {
			t.Fatal(err)
		}
		if _, err = p.Solve(t.Context(), instance.Options{Seed: 1, Budget: 50 * time.Millisecond}); !fault.Is(err, "NO_PLAN") || !strings.Contains(err.Error(), x.want) {
			t.Errorf("%s: %v\nwant %s", name, err, x.want)
		}
	}
}

// Two that each fit alone and not both: that there is no plan is not said where only none was found.
func TestFloor_SolveFindsNone(t *testing.T) {
	p, err := instance.Read([]byte(`{"format":"shop-instance/1","name":"full","epoch":"2026-03-02T00:00","horizon":600,"calendars":{"day":[[480,580]]},
"workers":[{"id":"Bea","calendar":"day"}],"stations":[],"pieces":[{"id":"stool","ops":[{"id":"a","modes":[{"worker":"Bea","dur":60}]}]},{"id":"door","ops":[{"id":"b","modes":[{"worker":"Bea","dur":60}]}]}]}`), instance.Floor)
	if err != nil {
		t.Fatal(err)
	}
	if _, err = p.Solve(t.Context(), instance.Options{Seed: 1, Budget: 50 * time.Millisecond}); !fault.Is(err, "NO_PLAN_IN_TIME") || !strings.Contains(err.Error(), "it would fit by itself") {
		t.Error(err)
	}
}
