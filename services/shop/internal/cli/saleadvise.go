package cli

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type adviseSaleCmd struct {
	listOutput
	Piece     string `arg:"" help:"Tag number."`
	Trying    string `help:"Also say what comes of asking this all the time." placeholder:"AMOUNT"`
	Channel   string `help:"Where it is to be offered. Without it: where it is listed."`
	SellsLow  string `help:"What you believe this piece brings at the least; with --sells-high, eight times in ten between the two." placeholder:"AMOUNT"`
	SellsHigh string `help:"At the most." placeholder:"AMOUNT"`
}

// Help implements kong.HelpProvider.
func (adviseSaleCmd) Help() string {
	return "The advice weighs what a buyer pays against the days that it stands. It changes no price; sale price does.\n\nFor example: shop sale advise 12 --trying 450 --channel online"
}

// Validate refuses half a guess.
func (c *adviseSaleCmd) Validate() error {
	if err := c.listOutput.Validate(); err != nil {
		return err
	}
	return seen{SellsLow: c.SellsLow, SellsHigh: c.SellsHigh}.Validate()
}

func (c *adviseSaleCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		terms, err := shop.Terms(e.ctx)
		if err != nil {
			return err
		}
		r := &salesv1.AdvisePriceRequest{Piece: p.Name, Channel: c.Channel}
		var low, high *moneyv1.Money
		if err := amounts(terms, typedAmount{c.Trying, &r.Trying}, typedAmount{c.SellsLow, &low}, typedAmount{c.SellsHigh, &high}); err != nil {
			return err
		}
		if low != nil {
			r.Guess = &salesv1.Guess{Low: low, High: high}
		}
		resp, err := shop.Prices.AdvisePrice(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printPriceAdvice(e, p, resp, terms.Zone) })
	})
}

func printPriceAdvice(e *env, p *intakev1.Piece, r *salesv1.AdvisePriceResponse, zone *time.Location) error {
	now := "It is not listed."
	if r.AskingPrice != nil {
		now = fmt.Sprintf("%s is asked now, listed for %s.", report.Money(r.AskingPrice), days(r.DaysListed, ""))
	}
	f := r.GetForecast()
	fmt.Fprintf(e.out, "%d %s. %s\nIt will bring %s, eight times in ten from %s to %s.\n\n", p.Tag, p.Title, now,
		report.Money(f.GetPriceLikely()), report.Money(f.GetPriceLow()), report.Money(f.GetPriceHigh()))
	if err := printWays(e, r.Ways); err != nil {
		return err
	}
	fmt.Fprintf(e.out, "What it brings is after the channel's %s %% and its floor at %s a day%s; after %s it goes for %s.\n\n",
		decimals(r.FeePercent), report.Money(r.HoldingPerDay), floorOf(r), days(r.HorizonDays, ""), report.Money(r.Salvage))
	fmt.Fprint(e.out, mostText(r))
	printCourse(e, r.Ways)
	printSeen(e, r)
	return printSaleBasis(e, f.GetBasis(), zone)
}

// floorOf says of which size it was said what its floor costs, if not of this one.
func floorOf(r *salesv1.AdvisePriceResponse) string {
	if r.HoldingSaidOf == 0 {
		return ""
	}
	return fmt.Sprintf(" (as follows from that of a %s piece)", enumWord("PIECE_SIZE_", r.HoldingSaidOf.String()))
}

// mostText says how much is advised at the most, and that what is tried above it is a guess.
func mostText(r *salesv1.AdvisePriceResponse) string {
	text := fmt.Sprintf("No more than %s is advised: little is known of what comes of more.\n", report.Money(r.Highest))
	if slices.ContainsFunc(r.Ways, (*salesv1.AdvisePriceResponse_Way).GetBeyond) {
		text += "What asks more is marked with ? and is a guess.\n"
	}
	return text + "\n"
}

// printSeen writes how the shop's own pieces of the kind were sold: the days by which a quarter, half and three quarters were.
func printSeen(e *env, r *salesv1.AdvisePriceResponse) {
	var parts []string
	quarters := 1.0
	for _, s := range r.Seen {
		if s.Share*4 >= quarters {
			parts = append(parts, fmt.Sprintf("%s by day %d (%d stood until then)", inPercent(s.Share), s.Day, s.Standing))
			quarters = math.Floor(s.Share*4) + 1
		}
	}
	if len(parts) > 0 {
		fmt.Fprintf(e.out, "Seen here, of %d times that such a kind was put up, whatever was asked: sold %s.\n\n", r.SeenListings, strings.Join(parts, ", "))
	}
}

var wayWords = map[salesv1.AdvisePriceResponse_Way_Kind]string{
	salesv1.AdvisePriceResponse_Way_KIND_ADVISED: "advised", salesv1.AdvisePriceResponse_Way_KIND_ONE_PRICE: "one price, the best", salesv1.AdvisePriceResponse_Way_KIND_TENTH_OFF: "a tenth off each time",
	salesv1.AdvisePriceResponse_Way_KIND_AS_LISTED: "as it is listed", salesv1.AdvisePriceResponse_Way_KIND_TRIED: "as you try",
}

func printWays(e *env, ways []*salesv1.AdvisePriceResponse_Way) error {
	t := &report.Table{Headings: []string{"way", " ask", " brings on average", " days", " sold", "then ask"}}
	for _, w := range ways {
		first, then := "–", []string{}
		for i, s := range w.Steps {
			if i == 0 {
				first = report.Money(s.AskingPrice)
				continue
			}
			then = append(then, fmt.Sprintf("day %d: %s", s.Day, report.Money(s.AskingPrice)))
		}
		if w.Beyond {
			first += " ?"
		}
		t.Add(wayWords[w.Kind], first, report.Money(w.Expected), decimals(w.Days), inPercent(w.Sold), strings.Join(then, ", "))
	}
	return t.Print(e.out)
}

// seasons are the quarters by their first month.
var seasons = map[string]string{"january": "January to March", "april": "April to June", "july": "July to September", "october": "October to December"}

func traitWord(f *salesv1.Basis_Effect) string {
	if f.Trait == salesv1.Basis_Effect_TRAIT_SEASON {
		return cmp.Or(seasons[f.Word], f.Word)
	}
	return f.Word
}

// saidText says what is believed, and since when; nothing where nobody said.
func saidText(s *salesv1.Basis_Said, zone *time.Location) string {
	low, high := report.Money(s.GetGuess().GetLow()), report.Money(s.GetGuess().GetHigh())
	switch s.GetWhen() {
	case salesv1.Basis_Said_WHEN_ASKING:
		return fmt.Sprintf("You believe %s to %s, as you say here.\n", low, high)
	case salesv1.Basis_Said_WHEN_SEEN:
		return fmt.Sprintf("You believed %s to %s on %s, when you saw it and had not bought it yet.\n", low, high, s.SeenTime.AsTime().In(zone).Format(time.DateOnly))
	case salesv1.Basis_Said_WHEN_TERMS:
		return fmt.Sprintf("You believe %s to %s of such a kind, by the selling terms.\n", low, high)
	}
	return ""
}

func printSaleBasis(e *env, b *salesv1.Basis, zone *time.Location) error {
	fmt.Fprintf(e.out, "Goes by %d sales, %d of the kind, and by %d listings for the days; %s of the price is belief.\n%s", b.GetSales(), b.GetSalesOfKind(), b.GetListings(), inPercent(b.GetBelief()), saidText(b.GetSaid(), zone))
	if b.GetTooFew() {
		fmt.Fprintln(e.out, "That is too few to rely on: the range is wide, and your own word counts (sale terms --believe).")
	}
	if len(b.GetEffects()) > 0 {
		fmt.Fprintln(e.out)
		t := &report.Table{Headings: []string{"what moves the price", "", " times", " from", " to", " sales"}}
		for _, f := range b.GetEffects() {
			t.Add(enumWord("TRAIT_", f.Trait.String()), traitWord(f), fmt.Sprintf("%.2f", f.Factor), fmt.Sprintf("%.2f", f.Low), fmt.Sprintf("%.2f", f.High), fmt.Sprint(f.Sales))
		}
		if err := t.Print(e.out); err != nil {
			return err
		}
	}
	for _, x := range b.GetExamples() {
		after := ""
		if x.Days > 0 {
			after = " after " + days(x.Days, "")
		}
		fmt.Fprintf(e.out, "Like it: %d %s, sold for %s%s.\n", x.Tag, cmp.Or(x.Title, "piece"), report.Money(x.Price), after)
	}
	return nil
}
