package commissions

import (
	"cmp"
	"net/url"
	"slices"
	"strconv"
	"strings"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/words"
)

// sorts are what a line is of, as the form has it.
var sorts = []string{"labour", "material", "fixed"}

// lineRow is a line as the form has it. Amount is the rate of an hour, what material costs the shop, or the price.
type lineRow struct {
	N                                 int
	What, Sort, Hours, Amount, Markup string
	Untaxed                           bool
}

// blankLines is how many rows there are beside those that are filled in, and moreLines how many come when more are asked for.
const (
	blankLines = 3
	moreLines  = 8
)

// rowsIn are the rows that say something, as they were typed.
func rowsIn(form url.Values) (rows []lineRow) {
	at := func(field string, i int) string {
		if all := form[field]; i < len(all) {
			return strings.TrimSpace(all[i])
		}
		return ""
	}
	for i := range form["what"] {
		r := lineRow{What: at("what", i), Sort: at("sort", i), Hours: at("hours", i), Amount: at("amount", i), Markup: at("markup", i), Untaxed: slices.Contains(form["untaxed"], strconv.Itoa(i))}
		if r.What != "" || r.Hours != "" || r.Amount != "" || r.Markup != "" {
			rows = append(rows, r)
		}
	}
	return rows
}

// withBlanks numbers rows, and adds empty ones.
func withBlanks(rows []lineRow, blanks int) []lineRow {
	rows = append(slices.Clone(rows), make([]lineRow, blanks)...)
	for i := range rows {
		rows[i].N, rows[i].Sort = i, cmp.Or(rows[i].Sort, sorts[0])
	}
	return rows
}

// rowsOf writes lines as the form takes them.
func rowsOf(v *words.Voice, lines []*intakev1.EstimateLine) (rows []lineRow) {
	for _, l := range lines {
		r := lineRow{What: l.What, Untaxed: l.Untaxed}
		switch of := l.Of.(type) {
		case *intakev1.EstimateLine_Labour_:
			r.Sort, r.Hours, r.Amount = "labour", hoursTyped(of.Labour), typed.Money(of.Labour.Rate, v.Currency)
		case *intakev1.EstimateLine_Material_:
			r.Sort, r.Amount, r.Markup = "material", typed.Money(of.Material.Cost, v.Currency), of.Material.MarkupPercent
		default:
			r.Sort, r.Amount = "fixed", typed.Money(l.GetFixed(), v.Currency)
		}
		rows = append(rows, r)
	}
	return rows
}

func hoursTyped(l *intakev1.EstimateLine_Labour) string {
	if l.HoursLow == l.HoursHigh || l.HoursLow == "" {
		return l.HoursLikely
	}
	return l.HoursLow + " - " + l.HoursLikely + " - " + l.HoursHigh
}

// linesOf reads the rows. Faults: LINES_MISSING, LINE_WHAT_MISSING, LINE_AMOUNT_MISSING, HOURS_UNREADABLE and those of package typed.
func linesOf(f *typed.Form) (lines []*intakev1.EstimateLine, err error) {
	for _, r := range rowsIn(f.Values) {
		l, err := lineOf(f, r)
		if err != nil {
			return nil, err
		}
		lines = append(lines, l)
	}
	if len(lines) == 0 {
		return nil, fault.New(fault.Invalid, "LINES_MISSING", "%s", f.Voice.T("commissions.lines.missing")).At("lines")
	}
	return lines, f.Err()
}

func lineOf(f *typed.Form, r lineRow) (*intakev1.EstimateLine, error) {
	row := &typed.Form{Voice: f.Voice, Values: url.Values{"amount": {r.Amount}}}
	amount, markup := row.Money("amount"), percent(row, r.Markup)
	if err := row.Err(); err != nil {
		return nil, err
	}
	l := &intakev1.EstimateLine{What: r.What, Untaxed: r.Untaxed}
	switch {
	case r.What == "":
		return nil, fault.New(fault.Invalid, "LINE_WHAT_MISSING", "%s", f.Voice.T("commissions.line.what.missing")).At("what")
	case r.Sort == "labour":
		hours, err := hoursOf(f.Voice, r)
		l.Of = &intakev1.EstimateLine_Labour_{Labour: hours}
		if hours != nil {
			hours.Rate = amount
		}
		return l, err
	case amount == nil:
		return nil, fault.New(fault.Invalid, "LINE_AMOUNT_MISSING", "%s", f.Voice.T("commissions.line.amount.missing", r.What)).At("amount")
	case r.Sort == "material":
		l.Of = &intakev1.EstimateLine_Material_{Material: &intakev1.EstimateLine_Material{Cost: amount, MarkupPercent: markup}}
	default:
		l.Of = &intakev1.EstimateLine_Fixed{Fixed: amount}
	}
	return l, nil
}

// hoursOf reads the likely hours, or least - likely - most.
func hoursOf(v *words.Voice, r lineRow) (*intakev1.EstimateLine_Labour, error) {
	var read []string
	row := &typed.Form{Voice: v}
	for part := range strings.SplitSeq(strings.ReplaceAll(r.Hours, "–", "-"), "-") {
		read = append(read, decimal(row, part))
	}
	if row.Err() == nil && len(read) == 1 && read[0] != "" {
		return &intakev1.EstimateLine_Labour{HoursLikely: read[0]}, nil
	}
	if row.Err() != nil || len(read) != 3 || slices.Contains(read, "") {
		return nil, fault.New(fault.Invalid, "HOURS_UNREADABLE", "%s", v.T("commissions.hours.unreadable", r.What)).At("hours")
	}
	return &intakev1.EstimateLine_Labour{HoursLow: read[0], HoursLikely: read[1], HoursHigh: read[2]}, nil
}

// decimal reads an exact number as contracts write it; "": nothing was typed.
func decimal(f *typed.Form, text string) string {
	row := &typed.Form{Voice: f.Voice, Values: url.Values{"n": {text}}}
	n := row.Quantity("n", "")
	f.Take(row)
	return n.GetValue()
}

// percent is decimal, with or without its sign.
func percent(f *typed.Form, text string) string {
	return decimal(f, strings.TrimSuffix(strings.TrimSpace(text), "%"))
}

// amountOrPercent reads one of the two: a percent has its sign.
func amountOrPercent(f *typed.Form, field string) (*moneyv1.Money, string) {
	if text := f.Text(field); strings.HasSuffix(text, "%") {
		return nil, percent(f, text)
	}
	return f.Money(field), ""
}
