package cli

import (
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func stamp(t *testing.T, text string) *timestamppb.Timestamp {
	t.Helper()
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		t.Fatal(err)
	}
	return timestamppb.New(at)
}

// Times are those of the clock on the shop's wall, wherever the person sits who types them.
func TestTimes_AreTheShops(t *testing.T) {
	t.Setenv("TZ", "Asia/Tokyo")
	f := newFake(t)
	for _, c := range []struct{ zone, at, want, shown string }{
		{"America/Chicago", "2026-03-02 08:00", "2026-03-02T14:00:00Z", "since 2026-03-02 08:00:00 CST."},
		{"America/Chicago", "2026-07-02 08:00", "2026-07-02T13:00:00Z", "since 2026-07-02 08:00:00 CDT."},
		{"America/Chicago", "2026-07-02T08:00:00+09:00", "2026-07-01T23:00:00Z", "since 2026-07-01 18:00:00 CDT."},
		{"Australia/Lord_Howe", "2026-03-02 08:00", "2026-03-01T21:00:00Z", "since 2026-03-02 08:00:00 +11."},
		{"Australia/Lord_Howe", "2026-07-02 08:00", "2026-07-01T21:30:00Z", "since 2026-07-02 08:00:00 +1030."},
	} {
		f.zone = c.zone
		args := append(line("clock on Nell 1 hardware-off"), "--at", c.at)
		f.gives(t, args, &workflowv1.ClockOnRequest{Person: "people/n", Stage: "pieces/a/stages/1", StartTime: stamp(t, c.want)})
		f.says(t, args, c.shown)
	}
}

// An hour that the clock skips or shows twice is asked for with its offset, by every flag
// that takes a time.
func TestTimes_SkippedOrTwice(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	for _, c := range []struct{ zone, at, want string }{
		{"America/Chicago", "2026-03-08 02:30", "give an offset with it, as in 2026-03-08T03:30:00-05:00"},
		{"America/Chicago", "2026-11-01 01:15", "say which with its offset: 2026-11-01T01:15:00-05:00 or 2026-11-01T01:15:00-06:00"},
		{"Australia/Lord_Howe", "2026-10-04 02:15", "as in 2026-10-04T02:45:00+11:00"},
		{"Australia/Lord_Howe", "2026-04-05 01:45", "2026-04-05T01:45:00+11:00 or 2026-04-05T01:45:00+10:30"},
	} {
		f.zone = c.zone
		for _, text := range []string{"clock off Nell --at '", "clock correct 7 --reason x --start '", "clock correct 7 --reason x --end '",
			"clock record Nell 1 hardware-off --reason x --end '2026-01-02 08:00' --start '", "clock record Nell 1 hardware-off --reason x --start '2026-01-02 08:00' --end '"} {
			f.refuses(t, line(text+c.at+"'"), c.want)
		}
	}
	f.refuses(t, line("clock off Nell --at noon"), `"noon" is not a time such as '2026-03-02 08:00'`)
	f.zone = "Springfield"
	f.refuses(t, line("clock off Nell --at '2026-03-02 08:00'"), `"Springfield" is not an IANA time zone`)
}

// The shop is asked once for its terms, and not at all where they are not needed.
func TestTerms_AreAskedOnce(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.says(t, line("sale sell 1 175 --tax 14.44 --fee 17.50 --at '2026-03-02 08:00'"))
	if f.asked != 1 {
		t.Errorf("a sale asks %d times for the terms", f.asked)
	}
	f.says(t, line("person list"))
	f.says(t, line("stage assign 1 hardware-off --nobody --json"))
	if f.asked != 1 {
		t.Errorf("commands without times and amounts ask for the terms")
	}
}

// Nobody needs costing to sell, to take in or to clock.
func TestShop_WorksWithoutCosting(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.without = []string{"costing"}
	f.says(t, line("sale sell 1 175"), "sold")
	f.says(t, line("piece take-in Stool --kind stool --price 3 --source kerb --part seat"), "Piece 2")
	f.says(t, line("stock receive 'Clear coat' --quantity 1L --cost 36"))
	f.says(t, line("clock on Nell 1 hardware-off --at '2026-03-02 08:00'"))
	f.refuses(t, line("cost list"), "nobody says where costing serves: use --costing-addr or TACKFREE_COSTING_ADDR")
}

func TestClock_SpeaksOfTitlesAndHours(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.says(t, line("clock on Nell 1 'SAND (drawers)' --at '2026-03-02 08:00'"), "Nell is on the clock at sand (drawers) of piece 1 since 2026-03-02 08:00:00 CST.\n")
	f.says(t, line("clock off Nell --at '2026-03-02 08:30'"), "Nell is off the clock after 0:30 at sand (case) of piece 1.\n")
	f.gives(t, line("clock record Nell 1 hardware-off --start '2026-03-02 08:00' --end '2026-03-02 08:40' --reason 'forgot, sorry'"),
		&workflowv1.RecordClockEntryRequest{Person: "people/n", Stage: "pieces/a/stages/1", Reason: "forgot, sorry",
			StartTime: stamp(t, "2026-03-02T14:00:00Z"), EndTime: stamp(t, "2026-03-02T14:40:00Z")})
	f.says(t, line("clock record Nell 1 hardware-off --start '2026-03-02 08:00' --end '2026-03-02 08:40' --reason forgot"),
		"hardware-off", "0:40", "written down later: forgot (Odile)")
}

func TestClockList(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.pieces = append(f.pieces, &intakev1.Piece{Name: "pieces/b", Tag: 2})
	f.entries = []*workflowv1.ClockEntry{
		{Name: "clockEntries/0123456789", PersonName: "Nell", Stage: "pieces/a/stages/3", StageKind: "sand", PieceTag: 1, Pass: 1, Superseded: true,
			StartTime: stamp(t, "2026-03-02T14:00:00Z"), EndTime: stamp(t, "2026-03-02T14:00:35Z")},
		{Name: "clockEntries/2", PersonName: "Nell", Stage: "pieces/b/stages/9", StageKind: "topcoat_coat", PieceTag: 2, Pass: 2,
			Corrects: "clockEntries/0123456789", Reason: "wrong piece", Actor: "Odile", StartTime: stamp(t, "2026-03-02T14:00:00Z")},
	}
	out := f.says(t, line("clock list"), "  sand (drawers) ", " 0:00:35 ", "no longer counts",
		"2026-03-02 08:00:00 CST", "  topcoat coat ", "in place of …23456789: wrong piece (Odile)")
	if !strings.Contains(strings.SplitN(out, "\n", 2)[0], "piece  stage") {
		t.Errorf("the heading is %s", strings.SplitN(out, "\n", 2)[0])
	}
}
