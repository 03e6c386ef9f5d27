package piece

import (
	"context"
	"strings"

	"golang.org/x/sync/errgroup"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/clients"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/web"
)

// moneyBand is the piece's cost sheet and what it may earn. Only owners have one.
type moneyBand struct {
	Missing  bands.Missing
	Path     string
	Shown    bool
	Cost     *costingv1.PieceCost // nil: the books have not heard of it yet
	Sheet    []sheetLine
	Doubts   []string         // why the cost is not final
	Listing  *salesv1.Listing // nil: it was never listed
	Forecast forecast
}

// Sold reports whether selling cost something: what a channel kept is no part of the costs before it.
func (b moneyBand) Sold() bool { return some(b.Cost.GetSums().GetFees()) }

// sheetLine is a line of the cost sheet with what it is the sum of.
type sheetLine struct {
	Word   string // labour, material …: as the books call it
	Sum    *moneyv1.Money
	Earned bool // it was earned and not spent
	Lines  []bookLine
}

// bookLine is a line of the ledger, with its amount as the sheet counts it.
type bookLine struct {
	*costingv1.CostLine
	Counts *moneyv1.Money
}

// Said is what was booked, without the full stop that people end a reason with: more stands behind it.
func (l bookLine) Said() string { return unstopped(l.Says) }

func unstopped(says string) string { return strings.TrimRight(says, ". ") }

func loadMoney(a *web.Asked, p *intakev1.Piece) (it moneyBand, err error) {
	it.Path = pathOf(p)
	if !a.User.Owns() {
		return it, nil
	}
	it.Shown = true
	var lines []*costingv1.CostLine
	group, ctx := errgroup.WithContext(a.Context())
	group.Go(func() error {
		r, err := a.Kit.Suite.Costing.GetPieceCost(ctx, &costingv1.GetPieceCostRequest{Piece: p.Name})
		it.Cost = r.GetPieceCost()
		return unless(err, "PIECE_NOT_FOUND")
	})
	group.Go(func() (err error) {
		lines, err = linesOf(ctx, a.Kit.Suite, &costingv1.ListCostLinesRequest{Piece: p.Name, PageSize: 1000})
		return unless(err, "PIECE_NOT_FOUND")
	})
	group.Go(func() error {
		r, err := a.Kit.Suite.Sales.GetListing(ctx, &salesv1.GetListingRequest{Name: "listings/" + idOf(p.Name)})
		it.Listing = r.GetListing()
		return unless(err, "LISTING_NOT_FOUND")
	})
	if err := it.Missing.Of(group.Wait()); err != nil || it.Missing != "" || it.Cost == nil {
		return it, err
	}
	it.Sheet, it.Doubts = sheetOf(it.Cost.Sums, lines), doubtsOf(it.Cost, a.Voice)
	if it.Cost.State != costingv1.PieceCost_STATE_SOLD && it.Cost.State != costingv1.PieceCost_STATE_SCRAPPED {
		it.Forecast, err = loadForecast(a, p, it.Listing)
	}
	return it, it.Missing.Of(err)
}

func linesOf(ctx context.Context, s *clients.Suite, of *costingv1.ListCostLinesRequest) ([]*costingv1.CostLine, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*costingv1.CostLine, string, error) {
		of.PageToken = token
		r, err := s.Answers.ListCostLines(ctx, of)
		return r.GetLines(), r.GetNextPageToken(), err
	})
}

// sheetOf puts each line of the ledger under the line of the sheet that it counts in; lines of the sheet
// that have nothing are left away.
func sheetOf(sums *costingv1.CostSums, lines []*costingv1.CostLine) (out []sheetLine) {
	for _, l := range []sheetLine{
		{Word: "acquisition", Sum: sums.Acquisition}, {Word: "labour", Sum: sums.Labour}, {Word: "premium", Sum: sums.Premium},
		{Word: "burden", Sum: sums.Burden}, {Word: "overhead", Sum: sums.Overhead}, {Word: "material", Sum: sums.Material},
		{Word: "outside", Sum: sums.Outside}, {Word: "rework", Sum: sums.Rework}, {Word: "fees", Sum: sums.Fees},
		{Word: "revenue", Sum: sums.Revenue, Earned: true}, {Word: "tax", Sum: sums.TaxCollected, Earned: true},
	} {
		for _, c := range lines {
			if c.SheetLine == l.Word {
				l.Lines = append(l.Lines, bookLine{c, counted(c.Amount, l.Earned)})
			}
		}
		if len(l.Lines) > 0 || l.Sum.GetUnits() != 0 || l.Sum.GetNanos() != 0 {
			out = append(out, l)
		}
	}
	return out
}

// counted is an amount of the ledger as the sheet counts it: what was earned is a credit there, below zero.
func counted(m *moneyv1.Money, earned bool) *moneyv1.Money {
	if !earned {
		return m
	}
	return &moneyv1.Money{CurrencyCode: m.GetCurrencyCode(), Units: -m.GetUnits(), Nanos: -m.GetNanos()}
}
