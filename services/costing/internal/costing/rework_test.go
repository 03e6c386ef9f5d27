package costing_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/costing/internal/costing"
)

func sayRework(lines []costing.ReworkCost) (out []string) {
	for _, l := range lines {
		out = append(out, fmt.Sprintf("%s %d", l.Title, l.Cost()))
	}
	return out
}

// The second pass of a stage was for runs, the third for dust; work counts with the pass in which it was
// done, whatever the account that bears it. Material, of which no stage is told, counts with the last
// pass of its kind of stage; what is of no kind either with the last of the piece.
func TestReworked_ByDefect(t *testing.T) {
	piece, coat, sanding := id.New(), id.New(), id.New()
	day := func(d int) time.Time { return monday.AddDate(0, 0, d) }
	w := costing.Reworked{
		Passes: map[id.ID][]costing.Pass{piece: {
			{Stage: coat, Kind: "paint_coat", At: day(1), Defects: []string{"runs"}},
			{Stage: coat, Kind: "paint_coat", At: day(3), Defects: []string{"dust", "dust", "orange_peel"}},
			{Stage: sanding, Kind: "sand", At: day(5)},
		}},
		Spent: []costing.SpentAgain{
			{Piece: piece, Stage: coat, StageKind: "paint_coat", Account: "wages_payable", WorkedAt: day(2), Amount: 100},
			{Piece: piece, Stage: coat, StageKind: "paint_coat", Account: "wages_payable", WorkedAt: day(3), Amount: 300},
			{Piece: piece, Stage: coat, StageKind: "paint_coat", Account: "burden_payable", WorkedAt: day(4), Amount: 4},
			{Piece: piece, StageKind: "paint_coat", Account: "materials_on_hand", WorkedAt: day(6), Amount: 30},
			{Piece: piece, Account: "accounts_payable", WorkedAt: day(6), Amount: 5},
			{Piece: piece, Stage: coat, StageKind: "paint_coat", Account: "wages_payable", WorkedAt: day(0), Amount: 7},
			{Piece: id.New(), Stage: coat, StageKind: "paint_coat", Account: "wages_payable", WorkedAt: day(2), Amount: 11},
			{Piece: piece, Stage: coat, StageKind: "paint_coat", Group: costing.PayWeek, Account: "wages_payable", WorkedAt: day(4), Amount: 3},
		},
	}
	lines, total := w.By(costing.AgainByDefect, costing.Standard())
	// Two thirds of 300 + 4 + 30 + 3, each kind of cost by itself: 200 + 3 + 20 + 2, and 100 + 1 + 10 + 1.
	want := []string{"dust 225", "orange_peel 112", "runs 100", " 23"}
	if diff := cmp.Diff(want, sayRework(lines)); diff != "" || total.Cost() != 460 {
		t.Errorf("total %d (-want +got):\n%s", total.Cost(), diff)
	}
	if total.Labour != 100+300+7+11 || total.Burden != 4 || total.Material != 30 || total.Outside != 5 || total.Premium != 3 || total.Overhead != 0 {
		t.Errorf("total = %+v", total)
	}
}

// Who did a stage first bears its rework by their hours on it; what nobody did first is nobody's.
func TestReworked_ByFirstWorker(t *testing.T) {
	piece, coat, nell, ola := id.New(), id.New(), id.New(), id.New()
	w := costing.Reworked{
		Hands: map[id.ID][]costing.Hand{piece: {
			{Stage: coat, StageKind: "paint_coat", Person: nell, Name: "Nell", Time: time.Hour}, {Stage: coat, StageKind: "paint_coat", Person: ola, Name: "Ola", Time: 2 * time.Hour},
			{Stage: id.New(), StageKind: "sand", Person: nell, Name: "Nell", Time: 9 * time.Hour},
		}},
		Spent: []costing.SpentAgain{
			{Piece: piece, Stage: coat, StageKind: "paint_coat", Account: "wages_payable", Amount: 100},
			{Piece: piece, StageKind: "paint_coat", Account: "materials_on_hand", Amount: 10},
			{Piece: piece, StageKind: "wax", Account: "materials_on_hand", Amount: 1},
		},
	}
	lines, total := w.By(costing.AgainByFirstWorker, costing.Standard())
	if diff := cmp.Diff([]string{"Nell 36", "Ola 74", " 1"}, sayRework(lines)); diff != "" || total.Cost() != 111 {
		t.Errorf("total %d (-want +got):\n%s", total.Cost(), diff)
	}
}

// However rework is told apart, nothing of it is lost or counted twice, neither money nor time.
func TestReworked_LinesAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		piece := id.New()
		stages := []id.ID{id.Nil, id.New(), id.New()}
		w := costing.Reworked{Passes: map[id.ID][]costing.Pass{}, Hands: map[id.ID][]costing.Hand{}}
		for n := range rapid.IntRange(0, 4).Draw(t, "passes") {
			w.Passes[piece] = append(w.Passes[piece], costing.Pass{Stage: stages[1+n%2], Kind: "sand", At: monday.AddDate(0, 0, rapid.IntRange(0, 9).Draw(t, "at")),
				Defects: rapid.SliceOfN(rapid.SampledFrom([]string{"runs", "dust", "haze"}), 0, 4).Draw(t, "defects")})
			w.Hands[piece] = append(w.Hands[piece], costing.Hand{Stage: stages[1+n%2], StageKind: "sand", Person: stages[1+n%2], Name: "one", Time: time.Duration(n) * time.Minute})
		}
		var cost money.Amount
		var worked time.Duration
		for range rapid.IntRange(0, 20).Draw(t, "spent") {
			s := costing.SpentAgain{Piece: piece, Stage: rapid.SampledFrom(stages).Draw(t, "stage"), StageKind: rapid.SampledFrom([]string{"", "sand"}).Draw(t, "kind"),
				Group:      rapid.SampledFrom([]costing.GroupKind{costing.NoGroup, costing.PayWeek, costing.Machine}).Draw(t, "group"),
				Account:    rapid.SampledFrom([]costing.Account{"wages_payable", "burden_payable", "overhead_applied", "materials_on_hand", "accounts_payable", "of_another_chart"}).Draw(t, "account"),
				OccurredAt: monday, WorkedAt: monday.AddDate(0, 0, rapid.IntRange(0, 9).Draw(t, "worked")),
				Amount: money.Amount(rapid.IntRange(-100, 1000).Draw(t, "amount")), Time: time.Duration(rapid.IntRange(0, 1e6).Draw(t, "time")) * time.Millisecond}
			w.Spent, cost, worked = append(w.Spent, s), cost+s.Amount, worked+s.Time
		}
		for _, by := range []costing.ReworkBy{costing.AgainByStageKind, costing.AgainByDefect, costing.AgainByFirstWorker, costing.AgainByPiece, costing.AgainByMonth} {
			lines, total := w.By(by, costing.Standard())
			var sum costing.ReworkCost
			for _, l := range lines {
				sum.Labour, sum.Time = sum.Labour+l.Cost(), sum.Time+l.Time
			}
			if total.Cost() != cost || sum.Labour != cost || total.Time != worked || sum.Time != worked {
				t.Fatalf("%s: lines %d in %s, total %d in %s; want %d in %s", by, sum.Labour, sum.Time, total.Cost(), total.Time, cost, worked)
			}
		}
	})
}
