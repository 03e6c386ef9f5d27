package cli

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"tackfree/services/shop/internal/client"
)

// Hours that differ are an error, and shown all the same.
func TestDemo_HoursThatDiffer(t *testing.T) {
	t.Parallel()
	var out bytes.Buffer
	e := &env{out: &out}
	nell := client.Worked{Person: "Nell", Clocked: 90 * time.Minute, Pieces: 60 * time.Minute, Indirect: 30 * time.Minute, Payroll: 90 * time.Minute}
	if err := workedTable(e, []client.Worked{nell}); err != nil {
		t.Errorf("hours that agree: %v", err)
	}
	ruth := client.Worked{Person: "Ruth", Clocked: 61 * time.Minute, Pieces: 60 * time.Minute, Payroll: 61 * time.Minute}
	out.Reset()
	if err := workedTable(e, []client.Worked{nell, ruth}); err == nil || err.Error() != "the hours of Ruth differ" {
		t.Errorf("hours that differ: %v", err)
	}
	if got := blanks.ReplaceAllString(out.String(), " "); !strings.Contains(got, "Ruth 1:00 0:00 1:00 1:01 1:01\n") || !strings.Contains(got, "all 2:00 0:30 2:30 2:31 2:31\n") {
		t.Errorf("they are shown as\n%s", out.String())
	}
}

// What programs read of the week is held to the same: hours that differ, or that nobody has, are
// an error beside the answer.
func TestDemo_JSONOfHoursThatDiffer(t *testing.T) {
	t.Parallel()
	f := withBooks(t)
	at := "unix:" + f.address
	e := &env{ctx: t.Context(), reach: reach{IntakeAddr: at, WorkflowAddr: at, MaterialsAddr: at, SalesAddr: at, CostingAddr: at}}
	agree := client.Worked{Person: "Nell", Clocked: time.Hour, Pieces: time.Hour, Payroll: time.Hour}
	unpaid := client.Worked{Person: "Ruth", Clocked: time.Hour, Indirect: time.Hour}
	for want, worked := range map[string][]client.Worked{"": {agree}, "the hours of Ruth differ": {agree, unpaid}, "nobody worked in that week": nil} {
		var out bytes.Buffer
		e.out = &out
		err := e.with(func(shop *client.Shop) error { return printTheWeek(e, shop, worked, true) })
		if (err == nil) != (want == "") || err != nil && err.Error() != want {
			t.Errorf("with %v: %v, want %q", worked, err, want)
		}
		if !strings.HasPrefix(out.String(), "{") || !strings.Contains(out.String(), "pieceCosts") {
			t.Errorf("with %v it prints %s", worked, out.String())
		}
	}
}

func TestDemo_AStoryThatIsNone(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"bogus", t.TempDir() + "/mine.json"} {
		code, out, errs := run(t, "demo", "--scenario", name)
		if code != 1 || out != "" || !strings.Contains(errs, `there is no story "`+name+`" and no file of that name; say story, week, or a file`) {
			t.Errorf("exits %d and prints %q and %q", code, out, errs)
		}
	}
}
