package piece

import (
	"context"
	"errors"
	"math/big"
	"net/url"
	"path"
	"time"

	"golang.org/x/sync/errgroup"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	"tackfree/pkg/money"
	"tackfree/pkg/quantity"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/pages/piece/lanes"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// forecast is what an hour on the piece may earn, and on what that leans.
type forecast struct {
	Leans   string // typed, asking or worth: where the price is from; empty: there is none, and no answer
	Price   *moneyv1.Money
	Typed   string // the price as a form takes it
	Query   string // what was asked, to ask it again
	Fee     string // percent of the price that the channel keeps, as typed
	Hours   time.Duration
	Open    int // stages that have hands to come
	Stuff   *moneyv1.Money
	Unknown int // needs of which nobody knows how much, or what it costs
	Answer  *costingv1.PriceWhatIfResponse
	Refused string // what was typed cannot be answered, in a sentence
}

func idOf(name string) string { return path.Base(name) }

// loadForecast asks costing what the piece would earn at a price: the one that was typed, else the asking
// price, else what the lead says it is worth.
func loadForecast(a *web.Asked, p *intakev1.Piece, listing *salesv1.Listing) (f forecast, err error) {
	in := typed.Form{Values: a.URL.Query(), Voice: a.Voice}
	f.Fee = in.Text("fee")
	price := in.Money("price")
	if err := in.Err(); err != nil {
		f.Refused = a.Sentence(err)
	}
	worth, err := f.read(a, p)
	if err != nil {
		return f, err
	}
	f.lean(price, listing, worth)
	f.Typed, f.Query = in.Text("price"), url.Values{"price": in.Values["price"], "fee": in.Values["fee"]}.Encode()
	if f.Typed == "" && f.Price != nil {
		f.Typed = plain(f.Price, a.Voice.Currency)
	}
	if f.Leans == "" || f.Refused != "" {
		return f, nil
	}
	f.Answer, err = a.Kit.Suite.Answers.PriceWhatIf(a.Context(), &costingv1.PriceWhatIfRequest{Piece: p.Name, Price: f.Price, FeePercent: f.Fee,
		TimeToCome: durationpb.New(f.Hours), MaterialToCome: f.Stuff})
	if errors.Is(err, fault.Invalid) || errors.Is(err, fault.Precondition) {
		f.Refused, err = a.Sentence(err), nil
	}
	return f, err
}

// plain writes money as a form takes it.
func plain(m *moneyv1.Money, c money.Currency) string {
	amount, whole := wire.FromMoney(m, c.Digits)
	if m == nil || !whole {
		return ""
	}
	return c.Format(amount)
}

func (f *forecast) lean(price *moneyv1.Money, listing *salesv1.Listing, worth *moneyv1.Money) {
	switch {
	case price != nil:
		f.Leans, f.Price = "typed", price
	case listing.GetState() == salesv1.Listing_STATE_LISTED:
		f.Leans, f.Price = "asking", listing.AskingPrice
	case worth != nil:
		f.Leans, f.Price = "worth", worth
	}
}

// read gathers what is to come: hands by the plan, material by what is still needed; and what the piece
// is worth.
func (f *forecast) read(a *web.Asked, p *intakev1.Piece) (worth *moneyv1.Money, err error) {
	var facts floorFacts
	s := a.Kit.Suite
	group, ctx := errgroup.WithContext(a.Context())
	group.Go(func() (err error) { facts.stages, err = stagesNow(ctx, s, p.Name); return err })
	group.Go(func() (err error) {
		facts.entries, err = entriesOf(ctx, a, p.Name)
		return unless(err, "PIECE_NOT_FOUND")
	})
	group.Go(func() (err error) { f.Stuff, f.Unknown, err = stuffToCome(ctx, a, p.Name); return err })
	group.Go(func() error {
		line, err := boardLine(ctx, s, p.Name)
		worth = line.GetValue()
		return err
	})
	if err := group.Wait(); err != nil {
		return nil, err
	}
	rows := lanes.Lay(laneStages(facts, a.Voice), a.Now())
	f.Hours = lanes.Left(rows)
	for _, r := range rows {
		if lanes.Left([]lanes.Row{r}) > 0 {
			f.Open++
		}
	}
	return worth, nil
}

// stuffToCome is what the material that is still reserved would cost at what stock costs now, and how
// many needs it leaves out. It is reckoned here and booked nowhere.
func stuffToCome(ctx context.Context, a *web.Asked, piece string) (*moneyv1.Money, int, error) {
	needs, err := needsOf(ctx, a.Kit.Suite, piece)
	if err != nil {
		return nil, 0, unless(err, "PIECE_NOT_FOUND")
	}
	products, err := productsOf(ctx, a.Kit.Suite, needs)
	if err != nil {
		return nil, 0, err
	}
	shop, sum, unknown := wire.Shop{Currency: a.Voice.Currency}, money.Amount(0), 0
	for _, n := range needs {
		cost, known := costOf(shop, n.Reserved, products[n.Product])
		sum += cost
		if !known {
			unknown++
		}
	}
	return shop.ToMoney(sum), unknown, nil
}

func productsOf(ctx context.Context, s *clients.Suite, needs []*materialsv1.Need) (map[string]*materialsv1.Product, error) {
	out := map[string]*materialsv1.Product{}
	for _, n := range needs {
		if _, has := out[n.Product]; has {
			continue
		}
		r, err := s.Materials.GetProduct(ctx, &materialsv1.GetProductRequest{Name: n.Product})
		if err := unless(err, "PRODUCT_NOT_FOUND"); err != nil {
			return nil, err
		}
		out[n.Product] = r.GetProduct()
	}
	return out, nil
}

// costOf is what an amount of a product costs by what all of it on hand cost, rounded once; false: nobody
// knows how much, or there is none on hand to go by.
func costOf(shop wire.Shop, amount *typev1.Quantity, p *materialsv1.Product) (money.Amount, bool) {
	need, errNeed := quantity.Parse(amount.GetValue(), amount.GetUnit())
	hand, errHand := quantity.Parse(p.GetOnHand().GetValue(), p.GetOnHand().GetUnit())
	value, whole := wire.FromMoney(p.GetValue(), shop.Currency.Digits)
	if errNeed != nil || errHand != nil || !whole || !hand.Positive() || need.Unit.Measure != hand.Unit.Measure {
		return 0, false
	}
	cost := new(big.Rat).Mul(need.InBase().Value.Rat(), new(big.Rat).SetInt64(int64(value)))
	return money.Round(cost.Quo(cost, hand.InBase().Value.Rat())), true
}
