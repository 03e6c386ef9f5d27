package server_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// pages reads all pages of a list, of one or two things each.
func pages[T any](t *testing.T, read func(ctx context.Context, size int32, token string) ([]T, string, error)) (all []T) {
	t.Helper()
	token := ""
	for n := 0; n < 1000; n++ {
		page, next, err := read(t.Context(), int32(1+n%2), token)
		if err != nil {
			t.Fatal(err)
		}
		if all = append(all, page...); next == "" {
			return all
		}
		token = next
	}
	t.Fatal("the pages have no end")
	return nil
}

func (b *bench) lines(t *testing.T, piece id.ID, every bool) []*costingv1.CostLine {
	t.Helper()
	return pages(t, func(ctx context.Context, size int32, token string) ([]*costingv1.CostLine, string, error) {
		r, err := b.answers.ListCostLines(ctx, &costingv1.ListCostLinesRequest{Piece: id.Name("pieces", piece), All: every, PageSize: size, PageToken: token})
		return r.GetLines(), r.GetNextPageToken(), err
	})
}

// words are lines of an answer as a test reads them.
func words[T any](lines []T, say func(T) string) (out []string) {
	for _, l := range lines {
		out = append(out, say(l))
	}
	return out
}

func differ(t *testing.T, what string, want, got any) {
	t.Helper()
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("%s (-want +got):\n%s", what, diff)
	}
}

// Each line of the stool's sheet can be followed to what brought it about.
func TestServer_ListCostLines(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	got := words(b.lines(t, b.stool, false), func(l *costingv1.CostLine) string {
		return strings.Join(strings.Fields(fmt.Sprint(l.OccurTime.AsTime().Day(), " ", l.SheetLine, " ", cents(l.Amount), " ", l.PersonName, " ", l.StageKey, " ", l.PartLabel, " ", l.Says)), " ")
	})
	differ(t, "lines", []string{
		"2 acquisition 1000 A piece that was bought for stock is taken in.",
		"2 labour 3000 Nell sand-1 seat Somebody works on a stage of a piece.",
		"3 material 500 paint_coat-1 seat Material goes to a piece; below zero it comes back.",
		"3 labour 1500 Ola paint_coat-1 seat Somebody works on a stage of a piece.",
		"4 rework 300 paint_coat-1 seat Material goes to a stage that was sent back.",
		"4 rework 2000 Nell paint_coat-1 seat Somebody works on a stage that was sent back.",
		"10 fees 1500 A piece is sold or a commission invoiced; the channel keeps its fee, and the tax is the tax office's.",
		"10 revenue -15000 A piece is sold or a commission invoiced; the channel keeps its fee, and the tax is the tax office's.",
	}, got)
	for _, piece := range []id.ID{b.stool, b.chair, b.table, b.shelf, b.bench, b.box} {
		b.addsUp(t, piece)
	}
	first := b.lines(t, b.stool, false)[1]
	if first.StartTime.AsTime() != march(2, 14, 0) || first.EndTime.AsTime() != march(2, 15, 30) || first.Stage != id.Name("pieces", b.stool, "stages", b.sanding.id) || first.Tag != 7 || first.Again {
		t.Errorf("the sanding's line = %v", first)
	}
	event, err := b.answers.ListCostLines(t.Context(), &costingv1.ListCostLinesRequest{EventId: first.EventId})
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "lines of its event", []string{"labour work_in_process 3000", " wages_payable -3000"}, words(event.Lines, func(l *costingv1.CostLine) string {
		return fmt.Sprint(l.SheetLine, " ", l.Account, " ", cents(l.Amount))
	}))
}

// addsUp holds the lines of a piece against its sheet, and all its lines against nothing: they balance.
func (b *bench) addsUp(t *testing.T, piece id.ID) {
	t.Helper()
	sums := map[string]int64{}
	for _, l := range b.lines(t, piece, false) {
		sums[l.SheetLine] += cents(l.Amount)
	}
	s := b.cost(t, piece, func(*costingv1.PieceCost) bool { return true }).Sums
	want := map[string]int64{"acquisition": cents(s.Acquisition), "labour": cents(s.Labour), "premium": cents(s.Premium), "burden": cents(s.Burden), "overhead": cents(s.Overhead),
		"material": cents(s.Material), "outside": cents(s.Outside), "rework": cents(s.Rework), "fees": cents(s.Fees), "revenue": -cents(s.Revenue), "tax": -cents(s.TaxCollected)}
	for line, amount := range want {
		if sums[line] != amount {
			t.Errorf("the lines of %q add up to %d, the sheet says %d", line, sums[line], amount)
		}
		delete(sums, line)
	}
	if len(sums) > 0 {
		t.Errorf("lines of no sheet line: %v", sums)
	}
	var all int64
	for _, l := range b.lines(t, piece, true) {
		all += cents(l.Amount)
	}
	if all != 0 {
		t.Errorf("all lines of the piece add up to %d", all)
	}
}

// What a rate changes that was told after the work is a line of its own, of the same event.
func TestServer_ListCostLines_OfARateToldLater(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	say := func(l *costingv1.CostLine) string {
		return fmt.Sprint(cents(l.Amount), " ", l.PersonName, ": ", l.Says)
	}
	labour := func() (out []string) {
		for _, l := range b.lines(t, b.bench, false) {
			if l.SheetLine == "labour" {
				out = append(out, say(l))
			}
		}
		return out
	}
	differ(t, "before there is a rate", []string{"0 Rae: Somebody works on a stage of a piece."}, labour())
	b.rate(t, b.rae, 12_00)
	got := labour()
	slices.Sort(got)
	differ(t, "with one", []string{"0 Rae: Somebody works on a stage of a piece.", "1200 Rae: A rate that was told later prices it anew. Somebody works on a stage of a piece."}, got)
	b.addsUp(t, b.bench)
}

// What moved the cost on follows from several events, and says so.
func TestServer_ListCostLines_OfWhatSeveralEventsDecide(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	moved := map[string]int64{}
	for _, l := range b.lines(t, b.shelf, true) {
		if l.FollowsFrom != "" { // in one step or in several, by what became known when
			moved[fmt.Sprint(l.Account, ": ", l.Says, " By ", l.FollowsFrom)] += cents(l.Amount)
		}
	}
	why := ": The cost of the piece goes to where it stands now. By the costs, stages and sales of the piece"
	differ(t, "what moved", map[string]int64{"finished_goods" + why: 32_00, "work_in_process" + why: -32_00}, moved)
}

func TestServer_ListCostLines_Refuses(t *testing.T) {
	t.Parallel()
	o := setup(t)
	refused := func(r *costingv1.ListCostLinesRequest, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, o.Service, o.answers.ListCostLines, r, kind, reason)
	}
	o.settle(t)
	piece := id.Name("pieces", id.New())
	refused(&costingv1.ListCostLinesRequest{}, fault.Invalid, "LINES_OF_WHAT")
	refused(&costingv1.ListCostLinesRequest{Piece: piece, EventId: id.New().String()}, fault.Invalid, "LINES_OF_WHAT")
	refused(&costingv1.ListCostLinesRequest{EventId: "7"}, fault.Invalid, "LINES_OF_WHAT")
	refused(&costingv1.ListCostLinesRequest{Piece: piece}, fault.NotFound, "PIECE_NOT_FOUND")
	refused(&costingv1.ListCostLinesRequest{Piece: "7"}, fault.Invalid, "INVALID_NAME")
	refused(&costingv1.ListCostLinesRequest{Piece: piece, PageToken: "?"}, fault.Invalid, "INVALID_PAGE_TOKEN")
}

func (b *bench) earnings(t *testing.T, r *costingv1.ListEarningsRequest) (lines []*costingv1.Earning, total *costingv1.Earning) {
	t.Helper()
	lines = pages(t, func(ctx context.Context, size int32, token string) ([]*costingv1.Earning, string, error) {
		r.PageSize, r.PageToken = size, token
		got, err := b.answers.ListEarnings(ctx, r)
		total = got.GetTotal()
		return got.GetLines(), got.GetNextPageToken(), err
	})
	return lines, total
}

// givenUp is how many pieces of a line were given up, and what they lost.
func givenUp(e *costingv1.Earning) string {
	if e.GivenUp == 0 && cents(e.Lost) == 0 {
		return ""
	}
	return fmt.Sprint(", given up ", e.GivenUp, " ", cents(e.Lost))
}

// Three pieces are sold: the stool earned 52.00 in 3 hours, the chair 28.33 in 1:05, the bench 32.00 in
// an hour, of which nobody knows yet what it cost. The box was given up, and cost 3.00.
func TestServer_ListEarnings(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	say := func(e *costingv1.Earning) string {
		return fmt.Sprint(e.Title, ": ", e.Pieces, " ", e.Provisional, " ", cents(e.Profit), " in ", e.Time.AsDuration(), ", ", cents(e.ProfitPerLabourHour), " ", e.MarginPercent, "%", givenUp(e))
	}
	// 52.00/3 h = 17.33; 28.33/1:05 h = 26.15; 52.00/150.00 = 34.6667 %; 28.33/60.00 = 47.2167 %.
	stool, chair, bench := ": 1 0 5200 in 3h0m0s, 1733 34.6667%", ": 1 0 2833 in 1h5m0s, 2615 47.2167%", ": 1 1 3200 in 1h0m0s, 3200 80%"
	stools := ": 2 1 8400 in 4h0m0s, 2100 44.2105%" // of 190.00
	box := ": 0 0 0 in 0s, 0 %, given up 1 300"
	for by, want := range map[costingv1.ListEarningsRequest_By][]string{
		costingv1.ListEarningsRequest_BY_PIECE:   {"Stool" + stool, "Chair" + chair, "Bench" + bench, "Box" + box},
		costingv1.ListEarningsRequest_BY_KIND:    {"box" + box, "chair" + chair, "stool" + stools},
		costingv1.ListEarningsRequest_BY_SOURCE:  {"church sale" + stool, "kerb" + box, "the Moreaus" + chair, bench},
		costingv1.ListEarningsRequest_BY_FINISH:  {"clear" + chair, "paint" + stool, bench + ", given up 1 300"},
		costingv1.ListEarningsRequest_BY_CHANNEL: {"market" + stools, chair + ", given up 1 300"},
		costingv1.ListEarningsRequest_BY_WORKERS: {"Nell, Ola" + stool, "Ola" + chair, "Rae" + bench, box},
		costingv1.ListEarningsRequest_BY_MONTH:   {"2026-03: 3 1 11233 in 5h5m0s, 2210 44.932%, given up 1 300"},
	} {
		lines, total := b.earnings(t, &costingv1.ListEarningsRequest{By: by})
		differ(t, by.String(), want, words(lines, say))
		if got, want := say(total), ": 3 1 11233 in 5h5m0s, 2210 44.932%, given up 1 300"; got != want {
			t.Errorf("%s: total %q, want %q", by, got, want)
		}
	}
	lines, total := b.earnings(t, &costingv1.ListEarningsRequest{By: costingv1.ListEarningsRequest_BY_PIECE, FromDate: dayOf(3, 11), ToDate: dayOf(3, 14)})
	differ(t, "sold from the 11th to the 14th", []string{"Chair" + chair}, words(lines, say))
	if total.Pieces != 1 {
		t.Errorf("total = %v", total)
	}
	if lines, total := b.earnings(t, &costingv1.ListEarningsRequest{By: costingv1.ListEarningsRequest_BY_KIND, ToDate: dayOf(2, 1)}); len(lines) != 0 || total.Pieces != 0 || total.ProfitPerLabourHour != nil || total.MarginPercent != "" {
		t.Errorf("before there was anything: %v, %v", lines, total)
	}
}

// A sale at a minute to midnight by the shop's clock is of that day, whatever day it is elsewhere.
func TestServer_ListEarnings_DaysOfTheShop(t *testing.T) {
	t.Parallel()
	b := setupBench(t)
	late := b.bought(20, "Late", "stool", "", 1_00, march(1, 12, 0))
	b.listedAndSold(late, "market", time.Date(2026, 4, 1, 3, 59, 0, 0, time.UTC), 9_00, 0) // 23:59 in New York
	b.cost(t, late, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Revenue) == 9_00 })
	for day, want := range map[*date.Date]int{dayOf(3, 31): 1, dayOf(4, 1): 0} {
		if lines, _ := b.earnings(t, &costingv1.ListEarningsRequest{By: costingv1.ListEarningsRequest_BY_PIECE, FromDate: day, ToDate: day}); len(lines) != want {
			t.Errorf("sold on %v: %v, want %d", day, lines, want)
		}
	}
	lines, _ := b.earnings(t, &costingv1.ListEarningsRequest{By: costingv1.ListEarningsRequest_BY_MONTH})
	if len(lines) != 1 || lines[0].Key != "2026-03" {
		t.Errorf("by month: %v", lines)
	}
}

func TestServer_Periods_Refuse(t *testing.T) {
	t.Parallel()
	o := setup(t)
	o.settle(t)
	from, to := dayOf(3, 2), dayOf(3, 1)
	for _, c := range []struct {
		from, to *date.Date
		reason   string
	}{{from, to, "PERIOD_BACKWARDS"}, {dayOf(2, 30), nil, "DATE_MALFORMED"}, {nil, &date.Date{Year: 1999, Month: 1, Day: 1}, "DATE_ABSURD"}} {
		svctest.Refused(t, o.Service, o.answers.ListEarnings, &costingv1.ListEarningsRequest{By: costingv1.ListEarningsRequest_BY_KIND, FromDate: c.from, ToDate: c.to}, fault.Invalid, c.reason)
		svctest.Refused(t, o.Service, o.answers.ListRework, &costingv1.ListReworkRequest{By: costingv1.ListReworkRequest_BY_DEFECT, FromDate: c.from, ToDate: c.to}, fault.Invalid, c.reason)
		svctest.Refused(t, o.Service, o.answers.ListPlanActuals, &costingv1.ListPlanActualsRequest{By: costingv1.ListPlanActualsRequest_BY_STAGE, FromDate: c.from, ToDate: c.to}, fault.Invalid, c.reason)
		svctest.Refused(t, o.Service, o.answers.ListJournal, &costingv1.ListJournalRequest{FromDate: c.from, ToDate: c.to}, fault.Invalid, c.reason)
	}
	for _, token := range []string{"?", "bnVsbA", "e30"} {
		if r, err := o.answers.ListEarnings(t.Context(), &costingv1.ListEarningsRequest{By: costingv1.ListEarningsRequest_BY_KIND, PageToken: token}); err == nil && token == "?" {
			t.Errorf("a token that no list gave: %v", r)
		}
	}
	svctest.Refused(t, o.Service, o.answers.ListEarnings, &costingv1.ListEarningsRequest{}, fault.Invalid, "INVALID_FIELD")
	svctest.Refused(t, o.Service, o.answers.ListRework, &costingv1.ListReworkRequest{By: 99}, fault.Invalid, "INVALID_FIELD")
}
