package price

import (
	"net/http"
	"net/url"
	"path"
	"slices"
	"strconv"
	"time"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// advised is what to ask for a piece.
type advised struct {
	Piece   *intakev1.Piece
	Path    string     // of this page
	Values  url.Values // what was asked: trying, low, high, channel
	Listing *salesv1.Listing
	Listed  bool
	Asked   string // now, and for how many days
	Since   int
	Ask     string // from today on, as people read it, and as a form takes it
	AskForm string
	Channel string // as the form of listing has it
	Reason  string // as the form of asking anew has it
	Same    bool   // it is asked already
	Steps   []step
	Ways    []way
	Curve   curve
	Seen    seen
	Most    string // no more is advised; Beyond: what is tried is more
	Beyond  bool
	Likely  [3]string // low, likely, high
	Days    [3]string
	Made    made
	Basis   basis
	Terms   []string // what it goes by
	Belief  string   // where the owner can say what such a kind brings; empty: nobody asked for it
}

// step is a price from a day on.
type step struct {
	On    time.Time
	Today bool
	Price string
}

// way is a way of asking and what comes of it.
type way struct {
	Letter, Name, Prices, Expected, Days, Sold string
	Advised, Beyond                            bool
	Shares                                     []string // sold by the days of the curve's table
}

// V is what a field of the question has.
func (d advised) V(field string) string { return d.Values.Get(field) }

// Opened reports whether what is rarely asked was.
func (d advised) Opened() bool { return d.V("low")+d.V("high")+d.V("channel") != "" || d.Belief != "" }

// asks are the fields of the question.
var asks = []string{"trying", "low", "high", "channel"}

// questionIn is what stands in the address.
func questionIn(a *web.Asked) url.Values {
	q := url.Values{}
	for _, field := range asks {
		if v := a.URL.Query().Get(field); v != "" {
			q.Set(field, v)
		}
	}
	return q
}

// AskAt is where a price is asked, with the question, so that the form leads back to its answer. It is made
// whole here: a template would escape the question as one word.
func (d advised) AskAt() string {
	at := url.URL{Path: d.Path + "/ask", RawQuery: d.Values.Encode()}
	return at.String()
}

func showAdvice(w http.ResponseWriter, a *web.Asked) error {
	return showAdviceWith(w, a, questionIn(a), nil)
}

// showAdviceWith shows the advice. A piece that has none says why, with the question to be asked otherwise.
func showAdviceWith(w http.ResponseWriter, a *web.Asked, q url.Values, refused error) error {
	it := advised{Values: q, Path: "/money/price/" + a.PathValue("tag")}
	r, err := a.Kit.Suite.Intake.GetPiece(a.Context(), &intakev1.GetPieceRequest{Name: "pieces/tag:" + a.PathValue("tag")})
	if err != nil {
		return err
	}
	it.Piece = r.Piece
	answer, err := it.read(a)
	if web.Refusal(err) {
		if fault.Is(err, "BELIEF_MISSING") {
			it.Belief = "/money/terms?kind=" + url.QueryEscape(it.Piece.Kind)
		}
		if refused == nil {
			refused = err
		}
	} else if err != nil {
		return err
	}
	if answer != nil {
		it.lay(a.Voice, answer, a.Now())
	}
	it.Channel, it.Reason = it.V("channel"), a.Voice.T("price.reason.advised")
	it.typed(a.PostForm)
	return show(w, a, a.Voice.T("price.title", it.Piece.Tag, it.Piece.Title), page{Advice: &it}, refused)
}

// typed keeps what was typed into the form of a price that was refused.
func (d *advised) typed(form url.Values) {
	for field, to := range map[string]*string{"price": &d.AskForm, "channel": &d.Channel, "reason": &d.Reason} {
		if form.Has(field) {
			*to = form.Get(field)
		}
	}
}

// read asks sales, and how the piece is listed.
func (d *advised) read(a *web.Asked) (answer *salesv1.AdvisePriceResponse, err error) {
	r, err := question(&typed.Form{Values: d.Values, Voice: a.Voice}, d.Piece.Name)
	var reading errgroup.Group
	reading.Go(func() error {
		l, err := a.Kit.Suite.Sales.GetListing(a.Context(), &salesv1.GetListingRequest{Name: "listings/" + path.Base(d.Piece.Name)})
		d.Listing, d.Listed = l.GetListing(), l.GetListing().GetState() == salesv1.Listing_STATE_LISTED
		if fault.Is(err, "LISTING_NOT_FOUND") {
			return nil
		}
		return err
	})
	if err != nil {
		if other := reading.Wait(); other != nil {
			return nil, other
		}
		return nil, err
	}
	reading.Go(func() (err error) {
		answer, err = a.Kit.Suite.Prices.AdvisePrice(a.Context(), r)
		return err
	})
	if err := reading.Wait(); err != nil {
		return nil, err
	}
	return answer, nil
}

// question reads what is asked. Faults: GUESS_HALF and those of package typed.
func question(f *typed.Form, piece string) (*salesv1.AdvisePriceRequest, error) {
	r := &salesv1.AdvisePriceRequest{Piece: piece, Channel: f.Text("channel"), Trying: f.Money("trying")}
	low, high := f.Money("low"), f.Money("high")
	if err := f.Err(); err != nil {
		return nil, err
	}
	if (low == nil) != (high == nil) {
		return nil, fault.New(fault.Invalid, "GUESS_HALF", "%s", f.Voice.T("price.guess.half")).At("guess")
	}
	if low != nil {
		r.Guess = &salesv1.Guess{Low: low, High: high}
	}
	return r, nil
}

// lay puts the answer into words and drawings.
func (d *advised) lay(v *words.Voice, r *salesv1.AdvisePriceResponse, now time.Time) {
	f := r.Forecast
	d.Likely = [3]string{v.About(f.GetPriceLow()), v.About(f.GetPriceLikely()), v.About(f.GetPriceHigh())}
	d.Days = [3]string{daysText(v, f.GetDaysLow()), daysText(v, f.GetDaysLikely()), daysText(v, f.GetDaysHigh())}
	if r.AskingPrice != nil {
		d.Asked, d.Since = v.Money(r.AskingPrice), int(r.DaysListed)
	}
	if len(r.Ways) > 0 && len(r.Ways[0].Steps) > 0 {
		first := r.Ways[0].Steps[0].AskingPrice
		d.Ask, d.AskForm, d.Same = v.Money(first), typed.Money(first, v.Currency), r.AskingPrice != nil && v.Minor(first) == v.Minor(r.AskingPrice)
		d.Steps = stepsOf(v, r.Ways[0].Steps, now)
	}
	d.Curve = curveOf(v, r)
	for i, w := range r.Ways {
		d.Ways = append(d.Ways, wayOf(v, i, w, d.Curve.Days))
		d.Beyond = d.Beyond || w.Beyond
	}
	d.Seen, d.Most = tableOf(v, r, d.Curve.Days), v.About(r.Highest)
	d.Made = madeOf(v, f.GetBasis().GetEffects())
	d.Basis = basisOf(v, f)
	d.Terms = []string{floorText(v, r), v.T("price.by.fee", v.Decimal(r.FeePercent, 1)), v.N("price.by.horizon", int(r.HorizonDays), v.About(r.Salvage))}
}

// floorText says what a day of its floor costs, and of which size that was said.
func floorText(v *words.Voice, r *salesv1.AdvisePriceResponse) string {
	for word, size := range typed.Sizes {
		if size == r.HoldingSaidOf {
			return v.T("price.by.floor.of", v.Money(r.HoldingPerDay), v.Word("price.size", word))
		}
	}
	return v.T("price.by.floor", v.Money(r.HoldingPerDay))
}

// letters name the ways in drawing and tables.
const letters = "ABCDEFGH"

func wayOf(v *words.Voice, i int, w *salesv1.AdvisePriceResponse_Way, days []int) way {
	it := way{Letter: letters[i%len(letters) : i%len(letters)+1], Name: v.T("price.way." + wayWord(w)), Expected: v.About(w.Expected), Days: v.Decimal(w.Days, 0), Sold: v.Percent(w.Sold),
		Advised: w.Kind == salesv1.AdvisePriceResponse_Way_KIND_ADVISED, Beyond: w.Beyond}
	for j, s := range w.Steps {
		if j > 0 {
			it.Prices += " ▸ "
		}
		it.Prices += v.About(s.AskingPrice)
	}
	for _, day := range days {
		it.Shares = append(it.Shares, v.Percent(shareBy(w.SoldBy, day-1)))
	}
	return it
}

var wayWords = map[salesv1.AdvisePriceResponse_Way_Kind]string{
	salesv1.AdvisePriceResponse_Way_KIND_ADVISED: "advised", salesv1.AdvisePriceResponse_Way_KIND_ONE_PRICE: "one_price", salesv1.AdvisePriceResponse_Way_KIND_TENTH_OFF: "tenth_off",
	salesv1.AdvisePriceResponse_Way_KIND_AS_LISTED: "as_listed", salesv1.AdvisePriceResponse_Way_KIND_TRIED: "tried",
}

func wayWord(w *salesv1.AdvisePriceResponse_Way) string { return wayWords[w.GetKind()] }

func stepsOf(v *words.Voice, steps []*salesv1.AdvisePriceResponse_Step, now time.Time) (out []step) {
	for _, s := range steps {
		out = append(out, step{On: now.In(v.Zone).AddDate(0, 0, int(s.Day)), Today: s.Day == 0, Price: v.Money(s.AskingPrice)})
	}
	return out
}

// daysText writes days to a sale; 0: not within two years.
func daysText(v *words.Voice, days int32) string {
	if days == 0 {
		return v.T("price.days.never")
	}
	return strconv.Itoa(int(days))
}

// shareBy is the share that is sold by the end of a day.
func shareBy(course []*salesv1.SoldBy, day int) float64 {
	i, _ := slices.BinarySearchFunc(course, int32(day)+1, func(s *salesv1.SoldBy, day int32) int { return int(s.Day - day) })
	if i == 0 {
		return 0
	}
	return course[i-1].Share
}
