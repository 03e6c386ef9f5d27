package instance_test

import (
	"fmt"
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
			"Piece stool, operation first (paint), 30 minutes: " + bea + "; operation second (paint) has to begin within 1000 minutes of the end of operation first (paint), and 100 after it at the soonest. One of these has to give."},
		"too late for any shift": {`"release": 0`, `"release": 2030`,
			bea + "; nothing is done on piece stool before Tue 3 Mar 09:50. One of these has to give."},
		"a bench closed while she is in": {`"capacity": 1, "calendar": null`, `"capacity": 1, "calendar": "night"`,
			bea + "; bench is open 200 minutes at a stretch at most, as from Mon 2 Mar 10:00 to Mon 2 Mar 13:20, and the last time until Mon 2 Mar 13:20. One of these has to give."},
		"a second stretch longer than any shift": {`[{"worker": "Bea", "dur": 30}]}],`, `[{"worker": "Bea", "dur": 125}]}],`,
			"There is no plan for this floor. Piece stool, operation second (paint), 125 minutes: " + bea + ". That has to give."},
		"nobody": {`[{"worker": "Bea", "dur": 30}]}],`, `[]}],`, "nobody can do operation second (paint). That has to give."},
		"what is fixed": {`"frozen": []`, `"frozen": [{"op": "first", "worker": "Bea", "station": "bench", "start": 540, "end": 570}]`,
			"Piece stool, operation second (paint), 30 minutes: " + bea + "; operation second (paint) has to begin within 120 minutes of the end of operation first (paint), and 60 after it at the soonest: from Mon 2 Mar 10:30 to Mon 2 Mar 11:30; " +
				"operation first (paint) is fixed from Mon 2 Mar 09:00 to Mon 2 Mar 09:30 by Bea at bench. One of these has to give."},
		"another colour just before": {`"frozen": []`, `"frozen": [{"op": "first", "worker": "Bea", "station": "bench", "start": 480, "end": 510}]`,
			"by Bea at bench; bench has to be cleaned between colours. One of these has to give."},
		"no calendar of days": {`"epoch": "2026-03-02T00:00", "horizon": 2880`, `"horizon": 500`,
			"Piece stool, operation first (paint), 30 minutes: Bea is there 20 minutes at a stretch at most, as from minute 480 to minute 500, and the last time until minute 500; the plan ends at minute 500"},
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
		if _, err = p.Solve(t.Context(), instance.Options{Seed: 1, Budget: 50 * time.Millisecond}); !fault.Is(err, "NO_PLAN") || !strings.Contains(err.Error(), x.want) || strings.Count(err.Error(), "has to give") != 1 {
			t.Errorf("%s: %v\nwant %s", name, err, x.want)
		}
	}
}

// full is a floor of one worker with 100 minutes, and so many pieces of so many minutes.
func full(pieces, minutes int) string {
	text := `{"format":"shop-instance/1","name":"full","epoch":"2026-03-02T00:00","horizon":600,"calendars":{"day":[[480,580]]},
"workers":[{"id":"Bea","calendar":"day"}],"stations":[],"pieces":[`
	for i := range pieces {
		text += fmt.Sprintf(`{"id":"piece %d","ops":[{"id":"sand %d","modes":[{"worker":"Bea","dur":%d}]}]},`, i, i, minutes)
	}
	return strings.TrimSuffix(text, ",") + "]}"
}

// What fits alone and not beside the other names the other; that there is no plan is not said where only none was found.
func TestFloor_SolveFindsNone(t *testing.T) {
	for _, x := range []struct {
		floor        string
		reason, want string
	}{
		{full(2, 60), "NO_PLAN", "Bea is there 100 minutes at a stretch at most, as from Mon 2 Mar 08:00 to Mon 2 Mar 09:40, and the last time until Mon 2 Mar 09:40; operation sand 0 of piece piece 0, 60 minutes, has to be done too and takes the same hands or station. One of these has to give."},
		{full(6, 24), "NO_PLAN_IN_TIME", "it would fit by itself"},
	} {
		p, err := instance.Read([]byte(x.floor), instance.Floor)
		if err != nil {
			t.Fatal(err)
		}
		if _, err = p.Solve(t.Context(), instance.Options{Seed: 1, Budget: 50 * time.Millisecond}); !fault.Is(err, x.reason) || !strings.Contains(err.Error(), x.want) {
			t.Error(err)
		}
	}
}

// Two coats whose windows both close while one person can do but one of them are both named.
func TestFloor_TwoWindowsForOnePair(t *testing.T) {
	const coats = `{"format":"shop-instance/1","name":"coats","epoch":"2026-03-02T00:00","horizon":2880,"now":600,"calendars":{"day":[[480,600],[1440,1500],[2000,2500]]},
"workers":[{"id":"Bea","calendar":"day"}],"stations":[],"pieces":[
{"id":"stool","ops":[{"id":"s1","modes":[{"worker":"Bea","dur":30}]},{"id":"s2","modes":[{"worker":"Bea","dur":40}]}],"lags":[{"from":"s1","to":"s2","min":60,"max":1000}]},
{"id":"door","ops":[{"id":"d1","modes":[{"worker":"Bea","dur":30}]},{"id":"d2","modes":[{"worker":"Bea","dur":40}]}],"lags":[{"from":"d1","to":"d2","min":60,"max":1000}]}],
"frozen":[{"op":"s1","worker":"Bea","start":500,"end":530},{"op":"d1","worker":"Bea","start":530,"end":560}]}`
	p, err := instance.Read([]byte(coats), instance.Floor)
	if err != nil {
		t.Fatal(err)
	}
	_, err = p.Solve(t.Context(), instance.Options{Seed: 1, Budget: 50 * time.Millisecond})
	for _, want := range []string{"operation s2 has to begin within 1000 minutes", "operation d2 has to begin within 1000 minutes", "operation s2 of piece stool, 40 minutes, has to be done too", "Piece door", "from Mon 2 Mar 10:20 to Tue 3 Mar 02:00"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v\nsays nothing of %s", err, want)
		}
	}
}
