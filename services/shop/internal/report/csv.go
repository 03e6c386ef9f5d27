package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/money"
	"tackfree/pkg/protocsv"
)

// CSV is rows for a spreadsheet or another program, as RFC 4180 has them: lines end with CR LF, and
// a field is quoted where it must be. Amounts have a point and nothing between thousands, days and
// instants are those of ISO 8601.
type CSV struct{ w *csv.Writer }

// NewCSV begins one with its headings.
func NewCSV(w io.Writer, headings ...string) *CSV {
	c := &CSV{csv.NewWriter(w)}
	c.w.UseCRLF = true
	c.Row(headings...)
	return c
}

// Row adds a row. What went wrong is told by Flush.
func (c *CSV) Row(fields ...string) { _ = c.w.Write(fields) }

// Flush writes what is still held back, and tells what went wrong.
func (c *CSV) Flush() error {
	c.w.Flush()
	return c.w.Error()
}

// Free is a field that somebody typed: one that a spreadsheet would take for a formula begins with an
// apostrophe.
func Free(text string) string { return protocsv.Free(text) }

// Plain is an amount as a field; none is empty.
func Plain(m *moneyv1.Money) string {
	if m == nil {
		return ""
	}
	return Money(m)
}

// HoursField is a length of time in hours with four digits after the point, rounded half to even.
func HoursField(d *durationpb.Duration) string {
	if d == nil {
		return ""
	}
	return hoursField(d.AsDuration())
}

func hoursField(d time.Duration) string {
	return money.Currency{Digits: 4}.Format(money.MulDiv(money.Amount(d.Milliseconds()), 10_000, time.Hour.Milliseconds()))
}

// InstantField is an instant as a field; none is empty.
func InstantField(at *timestamppb.Timestamp) string {
	if at == nil {
		return ""
	}
	return at.AsTime().Format(time.RFC3339)
}

// number is a count as a field.
func number(n int32) string { return fmt.Sprint(n) }
