package report

import (
	"cmp"
	"fmt"
	"io"

	datev1 "google.golang.org/genproto/googleapis/type/date"

	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// Lines prints ledger lines, each with what it is and which event brought it about; and of one that is late
// the day on which it counts.
func Lines(w io.Writer, lines []*costingv1.CostLine, clock func(*costingv1.CostLine) string, day func(*datev1.Date) string) error {
	t := &Table{Headings: []string{"when", "counts on", "line of the sheet", "account", " amount", "who", "on", "what", "event"}}
	for _, l := range lines {
		t.Add(clock(l), day(l.CountsOnDate), sheetLine(l), l.AccountTitle, Money(l.Amount), l.PersonName, stageOfLine(l), whatOf(l), l.EventId)
	}
	return t.Print(w)
}

func sheetLine(l *costingv1.CostLine) string {
	if l.SheetLine == "" {
		return none
	}
	return l.SheetLine
}

// stageOfLine is what people call the stage of a ledger line.
func stageOfLine(l *costingv1.CostLine) string {
	if l.StageKey == "" {
		return Kind(l.StageKind)
	}
	return stageOf(&costingv1.LabourLine{StageKey: l.StageKey, StageKind: l.StageKind, PartLabel: l.PartLabel})
}

// whatOf says what a line is and what it follows from.
func whatOf(l *costingv1.CostLine) string {
	if l.FollowsFrom == "" {
		return l.Says
	}
	return fmt.Sprintf("%s It follows from %s.", l.Says, l.FollowsFrom)
}

// LinesCSV writes the same for a spreadsheet.
func LinesCSV(w io.Writer, lines []*costingv1.CostLine, day func(*datev1.Date) string) error {
	c := NewCSV(w, "occurred", "recorded", "transaction", "line", "sheet_line", "account", "amount", "tag", "person", "stage_kind", "stage_key", "part", "again", "started", "ended", "what", "follows_from", "event", "counts_on")
	for _, l := range lines {
		c.Row(InstantField(l.OccurTime), InstantField(l.RecordTime), l.Transaction, number(l.Line), l.SheetLine, l.Account, Plain(l.Amount), tagField(l.Tag), Free(l.PersonName),
			Free(l.StageKind), Free(l.StageKey), Free(l.PartLabel), fmt.Sprint(l.Again), InstantField(l.StartTime), InstantField(l.EndTime), Free(l.Says), Free(l.FollowsFrom), l.EventId, day(l.CountsOnDate))
	}
	return c.Flush()
}

// JournalCSV writes entries of the general journal, a row for each line: those of one entry stand one
// after the other, and their debits are their credits.
func JournalCSV(c *CSV, entries []*costingv1.JournalEntry, day func(*datev1.Date) string) {
	for _, e := range entries {
		for _, l := range e.Lines {
			c.Row(day(e.Date), e.Id, accountOf(l), Free(l.AccountTitle), Plain(l.Debit), Plain(l.Credit), Free(e.Description), tagField(l.Tag), Free(l.PersonName), e.EventId, currencyOf(l), InstantField(e.RecordTime), day(e.CountsOnDate))
		}
	}
}

// JournalHeadings are what a journal for a spreadsheet begins with.
var JournalHeadings = []string{"date", "entry", "account", "account_title", "debit", "credit", "description", "piece", "person", "reference", "currency", "recorded", "counts_on"}

// currencyOf is what a line is in: it has a debit or a credit.
func currencyOf(l *costingv1.JournalEntry_Line) string {
	return cmp.Or(l.GetDebit().GetCurrencyCode(), l.GetCredit().GetCurrencyCode())
}

// accountOf is an account as a bookkeeper files it: by its number, or by its name where it has none.
func accountOf(l *costingv1.JournalEntry_Line) string {
	if l.AccountNumber != "" {
		return Free(l.AccountNumber)
	}
	return Free(l.Account)
}

// PiecesCSV writes the cost sheets of pieces for a spreadsheet. As in the table, a piece in hand has
// earned and lost nothing yet.
func PiecesCSV(w io.Writer, pieces []*costingv1.PieceCost) error {
	c := NewCSV(w, "tag", "title", "kind", "source", "finish", "channel", "commission", "state", "provisional", "taken_in", "sold", "labour_hours", "rework_hours",
		"acquisition", "labour", "premium", "burden", "overhead", "material", "outside", "rework", "cost", "fees", "revenue", "tax_collected", "profit", "profit_per_labour_hour")
	for _, p := range pieces {
		s := p.GetSums()
		profit, perHour := earnedFields(p)
		c.Row(number(p.Tag), Free(p.Title), Free(p.Kind), Free(p.Source), Free(p.Finish), Free(p.Channel), fmt.Sprint(p.Commission), State(p.State.String()), fmt.Sprint(p.Provisional),
			InstantField(p.TakenInTime), InstantField(p.SoldTime), HoursField(s.GetLabourTime()), HoursField(s.GetReworkTime()),
			Plain(s.GetAcquisition()), Plain(s.GetLabour()), Plain(s.GetPremium()), Plain(s.GetBurden()), Plain(s.GetOverhead()), Plain(s.GetMaterial()), Plain(s.GetOutside()), Plain(s.GetRework()),
			Plain(s.GetCost()), Plain(s.GetFees()), Plain(s.GetRevenue()), Plain(s.GetTaxCollected()), profit, perHour)
	}
	return c.Flush()
}

// earnedFields are what a piece earned, in all and for each hour; empty while it is in hand.
func earnedFields(p *costingv1.PieceCost) (profit, perHour string) {
	if !done(p) {
		return "", ""
	}
	return Plain(p.GetSums().GetProfit()), Plain(p.GetSums().GetProfitPerLabourHour())
}
