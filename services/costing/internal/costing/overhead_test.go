package costing_test

import (
	"slices"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

// A stage carries the overhead of one department; a rate that would make it two is refused, whichever
// of the two begins first, but not where the other has none of its own by then.
func TestOverheadRate_Admit(t *testing.T) {
	rate := func(department string, from int, kinds ...string) costing.OverheadRate {
		r := overhead(department, 10_00, monday.AddDate(0, 0, from), monday, kinds...)
		r.Day = r.From
		return r
	}
	none := func(department string, from int, kinds ...string) costing.OverheadRate {
		r := rate(department, from, kinds...)
		r.PerHour = 0
		return r
	}
	bench := rate("bench", 0, "sand", "fill")
	for name, c := range map[string]struct {
		known    []costing.OverheadRate
		rate     costing.OverheadRate
		replaces bool
		want     string // reason; empty: it is taken
	}{
		"First":               {nil, bench, false, ""},
		"TheWholeShop":        {[]costing.OverheadRate{bench}, rate("", 0), false, ""},
		"OtherKinds":          {[]costing.OverheadRate{bench}, rate("booth", 0, "topcoat_coat"), false, ""},
		"KindsWithoutAName":   {nil, rate("", 0, "sand"), false, "DEPARTMENT_MISSING"},
		"NameWithoutKinds":    {nil, rate("booth", 0), false, "STAGE_KINDS_MISSING"},
		"NoneOfItsOwnNeedsNo": {[]costing.OverheadRate{bench}, none("bench", 5), false, ""},
		"SameDay":             {[]costing.OverheadRate{bench}, rate("bench", 0, "sand"), false, "OVERHEAD_RATE_OVERLAPS"},
		"SameDayOfTheShop":    {[]costing.OverheadRate{rate("", 0)}, rate("", 0), false, "OVERHEAD_RATE_OVERLAPS"},
		"SameDayReplaces":     {[]costing.OverheadRate{bench}, rate("bench", 0, "sand"), true, ""},
		"LaterDay":            {[]costing.OverheadRate{bench}, rate("bench", 5, "sand"), false, ""},
		"KindTwice":           {[]costing.OverheadRate{bench}, rate("booth", 5, "topcoat_coat", "fill"), false, "STAGE_KIND_IN_TWO_DEPARTMENTS"},
		"KindTwiceLater":      {[]costing.OverheadRate{rate("bench", 9, "sand")}, rate("booth", 5, "sand"), false, "STAGE_KIND_IN_TWO_DEPARTMENTS"},
		"KindTwiceForAWhile":  {[]costing.OverheadRate{bench, none("bench", 5)}, rate("booth", 3, "sand"), false, "STAGE_KIND_IN_TWO_DEPARTMENTS"},
		"GivenUpBefore":       {[]costing.OverheadRate{bench, none("bench", 5)}, rate("booth", 5, "sand"), false, ""},
		"KindMovedBefore":     {[]costing.OverheadRate{bench, rate("bench", 5, "fill")}, rate("booth", 5, "sand"), false, ""},
		"OwnNextRateFreesIt":  {[]costing.OverheadRate{rate("booth", 9, "stain"), rate("bench", 9, "sand")}, rate("booth", 5, "sand"), false, ""},
		"GivenUpWithItsKinds": {[]costing.OverheadRate{none("bench", 0, "sand")}, rate("booth", 5, "sand"), false, ""},
		"NoneOfKindsOfOthers": {[]costing.OverheadRate{bench}, none("booth", 0, "sand"), false, ""},
		"ReplacedBefore":      {[]costing.OverheadRate{bench, rate("bench", 0, "fill")}, rate("booth", 0, "sand"), false, ""},
		"NoneIsInNobodysWay":  {[]costing.OverheadRate{bench}, none("booth", 0), false, ""},
	} {
		t.Run(name, func(t *testing.T) {
			err := c.rate.Admit(c.known, c.replaces)
			if c.want == "" && err != nil || c.want != "" && !fault.Is(err, c.want) {
				t.Errorf("Admit = %v, want %q", err, c.want)
			}
		})
	}
	err := rate("booth", 5, "fill").Admit([]costing.OverheadRate{bench}, false)
	if f := fault.Of(err); f == nil || f.Meta["kind"] != "fill" || f.Meta["department"] != "bench" {
		t.Errorf("Admit = %+v, want it to name fill and bench", err)
	}
}

// The kinds of a department are those of its rate that holds when another begins, also of the one that it replaces;
// what the new rate does not name leaves it, and what is added stays beside it.
func TestOverheadRate_LeftAndBeside(t *testing.T) {
	rate := func(department string, perHour money.Amount, from int, kinds ...string) costing.OverheadRate {
		return overhead(department, perHour, monday.AddDate(0, 0, from), monday, kinds...)
	}
	booth := rate("booth", 10_00, 0, "seal", "topcoat_coat")
	for name, c := range map[string]struct {
		known        []costing.OverheadRate
		rate         costing.OverheadRate
		left, beside []string
	}{
		"First":           {nil, rate("booth", 5_00, 3, "seal"), nil, []string{"seal"}},
		"OneLeaves":       {[]costing.OverheadRate{booth}, rate("booth", 5_00, 3, "nonsense", "seal"), []string{"topcoat_coat"}, []string{"seal", "topcoat_coat", "nonsense"}},
		"Replaced":        {[]costing.OverheadRate{booth}, rate("booth", 5_00, 0, "wax"), []string{"seal", "topcoat_coat"}, []string{"seal", "topcoat_coat", "wax"}},
		"GivenUp":         {[]costing.OverheadRate{booth}, rate("booth", 0, 3, "seal"), []string{"seal", "topcoat_coat"}, []string{"seal", "topcoat_coat"}},
		"AfterItsGivenUp": {[]costing.OverheadRate{booth, rate("booth", 0, 2, "seal")}, rate("booth", 5_00, 3, "wax"), nil, []string{"wax"}},
		"BeforeTheOther":  {[]costing.OverheadRate{booth}, rate("booth", 5_00, -3, "wax"), nil, []string{"wax"}},
		"OfAnother":       {[]costing.OverheadRate{booth}, rate("bench", 5_00, 3, "sand"), nil, []string{"sand"}},
		"TheWholeShops":   {[]costing.OverheadRate{booth}, rate("", 5_00, 3), nil, nil},
	} {
		if left, beside := c.rate.Left(c.known), c.rate.Beside(c.known); !slices.Equal(left, c.left) || !slices.Equal(beside.StageKinds, c.beside) {
			t.Errorf("%s: %v leave and with others it has %v, want %v and %v", name, left, beside.StageKinds, c.left, c.beside)
		}
	}
}

// What is taken back is taken back on its own day, or on the first that is open; once, and never by
// taking back what takes back.
func TestOverheadActual_Back(t *testing.T) {
	spent := costing.OverheadActual{ID: id.New(), Day: day(9), At: at(3, 9, 0, 0), What: "saw blade", Amount: 80_00}
	march, april := costing.MonthOf(day(9), newYork), costing.MonthOf(day(40), newYork)
	for name, c := range map[string]struct {
		open costing.Month
		want time.Time
	}{"AllOpen": {costing.Month{}, spent.At}, "SameMonthOpen": {march, spent.At}, "MonthClosed": {april, april.From}} {
		back, err := spent.Back(c.open)
		if err != nil || back.Amount != -80_00 || back.TakesBack != spent.ID || !back.At.Equal(c.want) {
			t.Errorf("%s: Back = %+v, %v, want -80.00 at %s", name, back, err, c.want)
		}
		if _, err := back.Back(c.open); !fault.Is(err, "OVERHEAD_ACTUAL_TAKEN_BACK") {
			t.Errorf("%s: Back of Back = %v", name, err)
		}
	}
	spent.TakenBackBy = id.New()
	if _, err := spent.Back(march); !fault.Is(err, "OVERHEAD_ACTUAL_TAKEN_BACK") {
		t.Errorf("Back twice = %v", err)
	}
}
