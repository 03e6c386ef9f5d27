package cli

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/report"
)

// verdicts are the answers in a word.
var verdicts = map[intakev1.Advice_Verdict]string{
	intakev1.Advice_VERDICT_YES: "yes", intakev1.Advice_VERDICT_ONLY_IF: "only if", intakev1.Advice_VERDICT_NO: "no",
}

// printPurchaseAdvice says what to pay for what is asked an amount, why, and of what to beware.
func printPurchaseAdvice(e *env, asked *moneyv1.Money, a *intakev1.Advice) error {
	fmt.Fprintln(e.out, answer(e, asked, a))
	for _, c := range a.GetConditions() {
		if text := condition(c); text != "" {
			fmt.Fprintf(e.out, "  - %s\n", text)
		}
	}
	fmt.Fprintf(e.out, "\nAt %s the target of %s an hour is reached with a chance of %s (%s is wanted); money is lost with %s.\nThe work takes %s.\n\n",
		report.Money(asked), report.Money(a.GetTargetPerHour()), inPercent(a.GetChanceAtAsking()), inPercent(a.GetChance()), inPercent(a.GetChanceOfLoss()), days(a.GetDaysOfWork(), "at the least"))
	for _, print := range []func(*env, *intakev1.Advice) error{printRanges, printDrivers, printTakenOff, printBasis, printBeware} {
		if err := print(e, a); err != nil {
			return err
		}
	}
	return nil
}

func answer(e *env, asked *moneyv1.Money, a *intakev1.Advice) string {
	most := report.Money(atLeastNothing(a.GetMostToPay()))
	switch a.GetVerdict() {
	case intakev1.Advice_VERDICT_YES:
		return e.paint.in(inWorkColour, "Yes") + fmt.Sprintf(": %s is asked, and it is worth up to %s.", report.Money(asked), most)
	case intakev1.Advice_VERDICT_NO:
		says := fmt.Sprintf(": even as a gift it has %s to reach %s an hour; you want %s.", outOf100(a.GetChanceAsGift()), report.Money(a.GetTargetPerHour()), inHundred(a.GetChance()))
		if len(a.GetConditions()) > 0 {
			says += " As a gift it would do if one of these holds:"
		}
		return e.paint.in(lateColour, "No") + says
	}
	return e.paint.in(readyColour, "Only if") + fmt.Sprintf(" one of these holds; %s is asked, and it is worth up to %s:", report.Money(asked), most)
}

func condition(c *intakev1.Advice_Condition) string {
	switch c.GetKind() {
	case intakev1.Advice_Condition_KIND_PAY_AT_MOST:
		return "it is had for at most " + report.Money(c.GetMoney())
	case intakev1.Advice_Condition_KIND_SELLS_FOR:
		return "it is sure to sell for at least " + report.Money(c.GetMoney())
	case intakev1.Advice_Condition_KIND_HOURS_AT_MOST:
		return "it is sure to take at most " + decimals(c.GetNumber()) + " hours"
	case intakev1.Advice_Condition_KIND_PER_HOUR_AT_MOST:
		return "an hour need earn no more than " + report.Money(c.GetMoney())
	case intakev1.Advice_Condition_KIND_LEAD_TEST:
		return "in any case: it is tested for lead before anybody sands, scrapes or strips it"
	case intakev1.Advice_Condition_KIND_PRICE_LOOKED_UP:
		return "in any case: look up what such pieces bring; the shop sold too few to tell"
	}
	return ""
}

func printRanges(e *env, a *intakev1.Advice) error {
	t := &report.Table{Headings: []string{"", " low", " likely", " high"}}
	for _, r := range []struct {
		what string
		of   *intakev1.MoneyRange
	}{{"sells for", a.GetSalePrice()}, {"material", a.GetMaterial()}, {"profit", a.GetProfit()}, {"profit an hour", a.GetProfitPerHour()}} {
		if r.of == a.GetMaterial() && materialUnknown(a) {
			t.Add(r.what, "not known", "not known", "not known")
			continue
		}
		t.Add(r.what, report.Money(r.of.GetLow()), report.Money(r.of.GetLikely()), report.Money(r.of.GetHigh()))
	}
	hours, days := a.GetHours(), a.GetDaysToSell()
	t.Add("hours of work", decimals(hours.GetLow()), decimals(hours.GetLikely()), decimals(hours.GetHigh()))
	t.Add("days until it is sold", untilSold(days.GetLow()), untilSold(days.GetLikely()), untilSold(days.GetHigh()))
	if err := t.Print(e.out); err != nil {
		return err
	}
	_, err := fmt.Fprint(e.out, "One in ten is below low, one in ten above high.\n\n")
	return err
}

// untilSold writes days; 0 is not within the horizon of the selling terms.
func untilSold(days float64) string {
	if days == 0 {
		return "later"
	}
	return decimals(days)
}

var driverWords = map[intakev1.Advice_Driver_What]string{
	intakev1.Advice_Driver_WHAT_SALE_PRICE: "the price it brings", intakev1.Advice_Driver_WHAT_HOURS: "the hours", intakev1.Advice_Driver_WHAT_MATERIAL: "the material",
	intakev1.Advice_Driver_WHAT_DAYS: "the days until it is sold",
}

func printDrivers(e *env, a *intakev1.Advice) error {
	if len(a.GetDrivers()) == 0 {
		return nil
	}
	t := &report.Table{Headings: []string{"what decides", " most to pay if low", " if high", " of what is uncertain"}}
	if a.GetVerdict() == intakev1.Advice_VERDICT_NO { // nothing may be paid, so what decides is seen in the chance
		t.Headings[1] = " chance as a gift if low"
	}
	for _, d := range a.GetDrivers() {
		low, high := report.Money(d.MostIfLow), report.Money(d.MostIfHigh)
		if a.GetVerdict() == intakev1.Advice_VERDICT_NO {
			low, high = inPercent(d.GiftChanceIfLow), inPercent(d.GiftChanceIfHigh)
		}
		t.Add(driverWords[d.What], low, high, inPercent(d.Share))
	}
	return blankAfter(e, t)
}

var costWords = map[intakev1.Advice_Cost_What]string{
	intakev1.Advice_Cost_WHAT_LABOUR: "labour", intakev1.Advice_Cost_WHAT_MATERIAL: "material", intakev1.Advice_Cost_WHAT_EXTRA: "hardware and the like",
	intakev1.Advice_Cost_WHAT_TRAVEL: "the way there", intakev1.Advice_Cost_WHAT_FEE: "what selling keeps", intakev1.Advice_Cost_WHAT_FLOOR: "its floor until it is sold",
	intakev1.Advice_Cost_WHAT_TARGET: "what the hours are to earn", intakev1.Advice_Cost_WHAT_UNSOLD: "less where it does not sell in time",
}

func printTakenOff(e *env, a *intakev1.Advice) error {
	if len(a.GetCosts()) == 0 {
		return nil
	}
	t := &report.Table{Headings: []string{"taken off the price", " on average"}}
	for _, c := range a.GetCosts() {
		t.Add(costWords[c.What], report.Money(c.Amount))
	}
	return blankAfter(e, t)
}

func blankAfter(e *env, t *report.Table) error {
	if err := t.Print(e.out); err != nil {
		return err
	}
	_, err := fmt.Fprintln(e.out)
	return err
}

func printBasis(e *env, a *intakev1.Advice) error {
	b := a.GetBasis()
	lines := []string{fmt.Sprintf("The price goes by %d sales, %d of the kind; %s of it is belief.", b.GetSales(), b.GetSalesOfKind(), inPercent(b.GetBelief()))}
	if b.GetTooFew() {
		lines = append(lines, "That is too few to rely on: the range is wide, and your own word counts.")
	}
	lines = append(lines, fmt.Sprintf("Of the hours %s go by what is usual in the trade, and not by this shop's clock.", inPercent(b.GetHoursUsual())))
	switch {
	case b.GetPartsGiven():
		lines = append(lines, "The parts were measured.")
	case b.GetMeasuredPieces() > 0:
		lines = append(lines, fmt.Sprintf("The parts are as on %d pieces of the kind that were here.", b.GetMeasuredPieces()))
	default:
		lines = append(lines, "The parts are as such pieces usually have them; measure them with --part for a better answer.")
	}
	if of := b.GetFloorSaidOf(); of != 0 {
		lines = append(lines, fmt.Sprintf("What its floor costs follows from that of a %s piece: nobody said it of this size.", enumWord("PIECE_SIZE_", of.String())))
	}
	if materialUnknown(a) {
		lines = append(lines, "What the material costs is not known, and the answer leaves it out: nothing of it was bought here, nor has it a price.")
	}
	if len(b.GetUnpriced()) > 0 {
		lines = append(lines, "Not counted, for nobody said what it costs: "+strings.Join(b.GetUnpriced(), ", ")+".")
	}
	for _, l := range b.GetLikes() {
		after := ""
		if l.Days > 0 {
			after = " after " + days(l.Days, "")
		}
		lines = append(lines, fmt.Sprintf("Like it: %d %s, sold for %s%s.", l.Tag, l.Title, report.Money(l.Price), after))
	}
	_, err := fmt.Fprintln(e.out, strings.Join(lines, "\n"))
	return err
}

// printBeware says of what to beware, below all else.
func printBeware(e *env, a *intakev1.Advice) error {
	if len(a.GetHazards()) == 0 {
		return nil
	}
	fmt.Fprintf(e.out, "\n%s\n", e.paint.in(lateColour, "Beware:"))
	for _, h := range a.GetHazards() {
		fmt.Fprintf(e.out, "  %s: %s\n", h.Id, wrapped(h.Says, "  "))
	}
	return nil
}

// materialUnknown reports material of which no price at all is known.
func materialUnknown(a *intakev1.Advice) bool {
	high := a.GetMaterial().GetHigh()
	return len(a.GetBasis().GetUnpriced()) > 0 && high.GetUnits() == 0 && high.GetNanos() == 0
}

// outOf100 writes a chance as so many of a hundred chances, never more than it is.
func outOf100(of float64) string {
	switch whole := math.Floor(of*100 + 1e-9); {
	case of <= 0:
		return "no chance"
	case whole == 0:
		return "less than 1 of 100 chances"
	default:
		return fmt.Sprintf("%.0f of 100 chances", whole)
	}
}

// inHundred writes what chance is wanted, never less than it is.
func inHundred(of float64) string { return fmt.Sprintf("%.0f", math.Ceil(of*100-1e-9)) }

// atLeastNothing is an amount, or none of it where it is below zero.
func atLeastNothing(m *moneyv1.Money) *moneyv1.Money {
	if m.GetUnits() < 0 || m.GetNanos() < 0 {
		return &moneyv1.Money{CurrencyCode: m.GetCurrencyCode()}
	}
	return m
}

// inPercent writes 0.8 as 80 %; what is not nothing is not written as nothing, nor what is not all as all.
func inPercent(of float64) string {
	switch {
	case of > 0 && of < 0.005:
		return "under 1 %"
	case of < 1 && of >= 0.995:
		return "over 99 %"
	}
	return strconv.FormatFloat(of*100, 'f', 0, 64) + " %"
}

// decimals writes a number with one digit after the point, where it needs one.
func decimals(n float64) string { return strings.TrimSuffix(strconv.FormatFloat(n, 'f', 1, 64), ".0") }

// days writes so many days.
func days(n int32, more string) string {
	text := fmt.Sprintf("%d days", n)
	if n == 1 {
		text = "a day"
	}
	return strings.TrimSpace(text + " " + more)
}
