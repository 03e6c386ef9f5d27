package materials_test

import (
	"testing"
	"time"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
)

// What is lost at a stage is a cost of its piece; what gets too old, spoils or is spilt is the
// shop's, whoever stood there.
func TestProduct_Waste_Causes(t *testing.T) {
	stage := materials.Stage{ID: id.New(), Piece: id.New(), Kind: "topcoat coat", Pass: 1}
	for cause, ofStage := range map[materials.Cause]bool{
		materials.GunCleaning: true, materials.Hose: true, materials.LeftOver: true,
		materials.TooOld: false, materials.Spoilt: false, materials.Spilt: false,
	} {
		e, err := shellac().Waste(materials.Entry{Cause: cause, To: stage}, litres("0.1"))
		if ofStage != (err == nil) {
			t.Errorf("%s at a stage: %v", cause, err)
		}
		if err != nil {
			wantFault(t, err, "WASTE_OF_NO_STAGE", "stage")
		} else if e.Kind != materials.WentOut || e.Purpose != materials.ForWaste || e.Takes != materials.Anything || e.To != stage || e.Cause != cause {
			t.Errorf("Waste = %+v", e)
		}
		if _, err := shellac().Waste(materials.Entry{Cause: cause}, litres("0.1")); err != nil {
			t.Errorf("%s at no stage: %v", cause, err)
		}
	}
}

func TestProduct_Waste_Refuses(t *testing.T) {
	p, e := shellac(), materials.Entry{Cause: materials.Hose, To: materials.Stage{Piece: id.New(), Scrapped: true}}
	_, err := p.Waste(e, litres("0.1"))
	wantFault(t, err, "PIECE_SCRAPPED", "stage")
	_, err = p.Waste(materials.Entry{Cause: materials.Spilt}, of(decimal.NewFromInt(1), "g"))
	wantFault(t, err, "UNIT_OF_ANOTHER_MEASURE", "quantity")
	_, err = p.Waste(materials.Entry{Cause: materials.Spilt}, litres("0.0000001"))
	wantFault(t, err, "QUANTITY_ABSURD", "quantity")
}

func TestProduct_Issue_Refuses(t *testing.T) {
	p := shellac()
	_, err := p.Issue(materials.Entry{To: materials.Stage{Scrapped: true}}, litres("0.1"))
	wantFault(t, err, "PIECE_SCRAPPED", "stage")
	_, err = p.Issue(materials.Entry{}, of(decimal.NewFromInt(1), "each"))
	wantFault(t, err, "UNIT_OF_ANOTHER_MEASURE", "quantity")
}

// What is thrown away is thrown away, be it too old or closed.
func TestProduct_Waste_OfWhatIsNotUsed(t *testing.T) {
	for _, m := range methods {
		b := newBench(m)
		old := b.entry()
		old.Expires, old.Cost = old.At.Add(time.Minute), 10_00
		old, err := b.Receive("", old, materials.Packed{Quantity: litres("1")})
		b.do(t, old, err)
		lot := b.receive(t, "1", 10_00)
		e, err := lot.Close(b.entry())
		b.do(t, e, err)
		used, err := b.Issue(b.entry(), litres("0.5"))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := b.post(used); !fault.Is(err, "LOT_EXPIRED") {
			t.Errorf("%s: used of what is too old: %v", m, err)
		}
		e = b.entry()
		e.Cause = materials.TooOld
		e, err = b.Waste(e, litres("2"))
		if p := b.do(t, e, err); p.Total() != -20_00 || !b.OnHand.IsZero() || b.Value != 0 {
			t.Errorf("%s: wasted for %d, %v for %d are left", m, p.Total(), b.OnHand, b.Value)
		}
	}
}

func (b *bench) count(t fataler, amount string) materials.Posted {
	t.Helper()
	e := b.entry()
	e.Into = e.ID
	e, err := b.CountStock(e, litres(amount))
	return b.do(t, e, err)
}

// Somebody counts and finds more, less, nothing or a trace; only a quantity of another measure or
// a slip of the point is refused.
func TestProduct_CountStock(t *testing.T) {
	for _, m := range methods {
		b := newBench(m)
		b.receive(t, "2", 20_00)
		for _, c := range []struct{ counted, net string }{{"1.5", "-0.5"}, {"1.75", "0.25"}, {"1.75", "0"}, {"0.0000001", "-1.7499999"}, {"0", "-0.0000001"}, {"1", "1"}} {
			p := b.count(t, c.counted)
			if p.Net().String() != c.net || p.Purpose != materials.ForCount || b.OnHand.String() != c.counted || b.OnHand.IsZero() && b.Value != 0 {
				t.Errorf("%s: counted %s: %s, %s are there for %d; want %s", m, c.counted, p.Net(), b.OnHand, b.Value, c.net)
			}
		}
		if b.Value != 10_00 {
			t.Errorf("%s: a litre is worth %d, want what came in last cost", m, b.Value)
		}
	}
	_, err := shellac().CountStock(materials.Entry{}, of(decimal.NewFromInt(1), "g"))
	wantFault(t, err, "UNIT_OF_ANOTHER_MEASURE", "quantity")
	_, err = shellac().CountStock(materials.Entry{}, litres("1000001"))
	wantFault(t, err, "QUANTITY_ABSURD", "quantity")
}

// kept is a lot of two litres on a shelf that keeps for 30 days once it is opened.
func kept(t *testing.T) (*bench, materials.Lot) {
	b := newBench(materials.FirstIn)
	b.OpenDays = 30
	return b, b.receive(t, "2", 20_00)
}

func TestProduct_Open(t *testing.T) {
	b, lot := kept(t)
	e, err := b.Open(lot, b.entry(), &materials.Packed{Label: "Quart Can", Count: 1})
	p := b.do(t, e, err)
	open := b.lots[p.Into]
	if p.Purpose != materials.ForOpening || !open.Opened || open.Root != lot.ID || !open.Left.Equal(b.Packages[0].Content) || !open.Expires.Equal(e.At.Add(30*24*time.Hour)) {
		t.Errorf("opened %+v by %+v", open, p)
	}
	rest := b.lots[lot.ID]
	if rest.Opened || !rest.Left.Equal(lot.Left.Sub(open.Left)) || rest.CostLeft+open.Cost != 20_00 || b.Value != 20_00 {
		t.Errorf("the rest is %+v", rest)
	}
	e, err = b.Open(rest, b.entry(), nil)
	if p = b.do(t, e, err); !b.lots[p.Into].Left.Equal(rest.Left) || !b.lots[lot.ID].Left.IsZero() {
		t.Errorf("all of the rest was opened: %+v", b.lots)
	}
	lot.Expires = e.At.Add(time.Hour)
	if e, err = b.Open(lot, b.entry(), nil); err != nil || !e.Expires.Equal(lot.Expires) {
		t.Errorf("opened, it keeps until %v, %v; want no longer than closed", e.Expires, err)
	}
}

func TestProduct_Open_Refuses(t *testing.T) {
	b, lot := kept(t)
	open, shut, empty := lot, lot, lot
	open.Opened, shut.Closed, empty.Left = true, true, decimal.Zero
	of3 := &materials.Packed{Label: "quart can", Count: 3}
	for _, c := range []struct {
		lot           materials.Lot
		amount        *materials.Packed
		reason, field string
	}{
		{open, nil, "LOT_OPEN", "lot"},
		{shut, nil, "LOT_CLOSED", "lot"},
		{empty, nil, "STOCK_TOO_SMALL", "quantity"},
		{lot, of3, "STOCK_TOO_SMALL", "quantity"},
		{lot, &materials.Packed{Label: "drum", Count: 1}, "PACKAGE_UNKNOWN", "packages.label"},
		{lot, &materials.Packed{Quantity: of(decimal.NewFromInt(1), "g")}, "UNIT_OF_ANOTHER_MEASURE", "quantity"},
		{lot, &materials.Packed{Quantity: litres("0.0000001")}, "QUANTITY_ABSURD", "quantity"},
	} {
		_, err := b.Open(c.lot, b.entry(), c.amount)
		wantFault(t, err, c.reason, c.field)
	}
}

func TestProduct_Move(t *testing.T) {
	b, lot := kept(t)
	cabinet := id.New()
	to := func(place id.ID) materials.Entry {
		e := b.entry()
		e.Place = place
		return e
	}
	half := &materials.Packed{Quantity: litres("0.5")}
	e, err := b.Move(lot, to(cabinet), half)
	p := b.do(t, e, err)
	if part, rest := b.lots[p.Into], b.lots[lot.ID]; p.Kind != materials.Split || part.Place != cabinet || part.Opened || !part.Left.Equal(half.Quantity.Value) || rest.Place != id.Nil {
		t.Errorf("moved %+v of %+v", part, rest)
	}
	for _, amount := range []*materials.Packed{nil, {Quantity: litres("1.5")}} { // all of it stays the lot that it is
		e, err = b.Move(b.lots[lot.ID], to(id.New()), amount)
		if p = b.do(t, e, err); p.Kind != materials.Moved || p.Into != id.Nil || b.lots[lot.ID].Place != e.Place || len(b.lots) != 2 {
			t.Errorf("moved %+v", p)
		}
	}
	rest := b.lots[lot.ID]
	_, err = b.Move(rest, to(rest.Place), half)
	wantFault(t, err, "MOVE_CHANGES_NOTHING", "place")
	_, err = b.Move(rest, to(cabinet), &materials.Packed{Quantity: litres("1.6")})
	wantFault(t, err, "STOCK_TOO_SMALL", "quantity")
	rest.Left = decimal.Zero
	_, err = b.Move(rest, to(cabinet), nil)
	wantFault(t, err, "STOCK_TOO_SMALL", "quantity")
}

func TestLot_Close(t *testing.T) {
	b, lot := kept(t)
	e, err := lot.Close(b.entry())
	b.do(t, e, err)
	shut := b.lots[lot.ID]
	if !shut.Closed || !b.OnHand.Equal(decimal.NewFromInt(2)) {
		t.Errorf("closed %+v", shut)
	}
	_, err = shut.Close(b.entry())
	wantFault(t, err, "LOT_CLOSED", "lot")
	used := b.entry()
	used.Lot = lot.ID
	used, err = b.Issue(used, litres("1"))
	if err != nil {
		t.Fatal(err)
	}
	_, err = b.post(used)
	wantFault(t, err, "LOT_CLOSED", "lot")
}
