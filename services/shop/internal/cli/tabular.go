package cli

import (
	"fmt"
	"time"

	datev1 "google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/wire"
	"tackfree/services/shop/internal/client"
)

// tabular is how a command prints that has rows for a spreadsheet.
type tabular struct {
	output
	CSV bool `help:"Print the rows as comma-separated values, for a spreadsheet." name:"csv"`
}

// Validate refuses two forms at once.
func (t tabular) Validate() error {
	if t.CSV && t.JSON {
		return fmt.Errorf("--json and --csv are two forms; say one of them")
	}
	return nil
}

// print writes the message as JSON or its rows as CSV, or lets text write it for people.
func (t tabular) print(e *env, m proto.Message, rows, text func() error) error {
	if t.CSV {
		return rows()
	}
	return t.output.print(e, m, text)
}

// span is from when until when a question is asked.
type span struct {
	From    string `help:"Only from that day on, such as 2026-03-02." placeholder:"DAY"`
	To      string `help:"Only until that day, with it." placeholder:"DAY"`
	Month   string `help:"Only that month, such as 2026-03." placeholder:"MONTH"`
	Quarter string `help:"Only that quarter, such as 2026-Q1." placeholder:"QUARTER"`
}

// days reads the first day and the last; absent is open.
func (s span) days() (from, to *datev1.Date, err error) {
	said := 0
	for _, given := range []bool{s.From != "" || s.To != "", s.Month != "", s.Quarter != ""} {
		if given {
			said++
		}
	}
	if said > 1 {
		return nil, nil, fmt.Errorf("--from and --to, --month and --quarter say the same in three ways; use one of them")
	}
	switch {
	case s.Month != "":
		first, err := time.Parse("2006-01", s.Month)
		if err != nil {
			return nil, nil, fmt.Errorf("%q is not a month such as 2026-03", s.Month)
		}
		return months(first, 1)
	case s.Quarter != "":
		var year, n int
		if _, err := fmt.Sscanf(s.Quarter, "%4d-Q%1d", &year, &n); err != nil || n < 1 || n > 4 || s.Quarter != fmt.Sprintf("%04d-Q%d", year, n) {
			return nil, nil, fmt.Errorf("%q is not a quarter such as 2026-Q1", s.Quarter)
		}
		return months(time.Date(year, time.Month(3*n-2), 1, 0, 0, 0, 0, time.UTC), 3)
	}
	if from, err = client.Day(s.From); err != nil {
		return nil, nil, err
	}
	to, err = client.Day(s.To)
	return from, to, err
}

// months are the days of so many months from a first day on.
func months(first time.Time, n int) (from, to *datev1.Date, err error) {
	return wire.ToDay(first), wire.ToDay(first.AddDate(0, n, -1)), nil
}
