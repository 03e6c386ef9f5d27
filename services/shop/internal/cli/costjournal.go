package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type journalCmd struct {
	span
	AsCounted bool   `help:"With --month: what counts in that month as profit-and-loss has it, late entries among it, and not what happened in it."`
	After     int64  `help:"Only what the books took in after a position, of whatever day: what is new since a journal that was taken before, which said the position to go on from." placeholder:"POSITION"`
	Format    string `help:"csv, for a spreadsheet or a bookkeeper's program, or json." enum:"csv,json" default:"csv"`
	Out       string `help:"The file to write; what was there before is replaced once all is written. Without it: standard output." placeholder:"FILE" type:"path"`
}

// Validate refuses what is no question.
func (c *journalCmd) Validate() error {
	switch {
	case c.After < 0:
		return fmt.Errorf("--after is a position, as a journal that was taken before said it; 0 is the beginning")
	case c.AsCounted && c.Month == "":
		return fmt.Errorf("--as-counted is of a month; say --month too")
	case c.AsCounted && c.After > 0:
		return fmt.Errorf("--as-counted is all that counts in a month, and --after is what is new; say one of them")
	}
	return nil
}

// asked is what of the journal is asked for.
func (c *journalCmd) asked() (*costingv1.ListJournalRequest, error) {
	from, to, err := c.days()
	if err == nil && c.AsCounted {
		return &costingv1.ListJournalRequest{PageSize: 1000, CountedMonth: from}, nil
	}
	return &costingv1.ListJournalRequest{PageSize: 1000, FromDate: from, ToDate: to, AfterPosition: c.After}, err
}

func (c *journalCmd) Run(e *env) error {
	r, err := c.asked()
	if err != nil {
		return err
	}
	write := writeJournalCSV
	if c.Format == "json" {
		write = writeJournalJSON
	}
	return e.with(func(shop *client.Shop) error {
		if c.Out == "" {
			read, err := write(e.ctx, shop, r, e.out)
			if err != nil || c.AsCounted || c.Format == "json" { // which has the position in it
				return err
			}
			return read.goOn(e.errs)
		}
		var read journalRead
		err := replace(c.Out, func(w io.Writer) (err error) {
			read, err = write(e.ctx, shop, r, w)
			return err
		})
		if err == nil {
			_, err = fmt.Fprintf(e.out, "%d entries are in %s.\n", read.entries, c.Out)
		}
		if err != nil || c.AsCounted {
			return err
		}
		return read.goOn(e.out)
	})
}

// goOn says, beside the journal, how to get what comes after it.
func (r journalRead) goOn(w io.Writer) error {
	_, err := fmt.Fprintf(w, "The books are at position %d; --after %d gives what they take in from here on.\n", r.position, r.position)
	return err
}

// journalRead is how many entries were read, and the position to go on from.
type journalRead struct {
	entries  int
	position int64
}

// eachEntry reads the journal page by page, for it may be long.
func eachEntry(ctx context.Context, shop *client.Shop, r *costingv1.ListJournalRequest, fn func([]*costingv1.JournalEntry) error) (read journalRead, err error) {
	for {
		resp, err := shop.Answers.ListJournal(ctx, r)
		if err != nil {
			return read, err
		}
		read = journalRead{read.entries + len(resp.Entries), resp.Position}
		if err := fn(resp.Entries); err != nil {
			return read, err
		}
		if r.PageToken = resp.NextPageToken; r.PageToken == "" {
			return read, nil
		}
	}
}

// writeJournalCSV begins with the headings once there is a page: where the journal is refused nothing is written.
func writeJournalCSV(ctx context.Context, shop *client.Shop, r *costingv1.ListJournalRequest, w io.Writer) (journalRead, error) {
	var c *report.CSV
	read, err := eachEntry(ctx, shop, r, func(page []*costingv1.JournalEntry) error {
		if c == nil {
			c = report.NewCSV(w, report.JournalHeadings...)
		}
		report.JournalCSV(c, page, client.WriteDay)
		return nil
	})
	if c == nil {
		return read, err
	}
	return read, errors.Join(err, c.Flush())
}

// writeJournalJSON writes a list of entries, each as the contract has it, and the position to go on from.
func writeJournalJSON(ctx context.Context, shop *client.Shop, r *costingv1.ListJournalRequest, w io.Writer) (journalRead, error) {
	var all []json.RawMessage
	read, err := eachEntry(ctx, shop, r, func(page []*costingv1.JournalEntry) error {
		raw, err := rawJSONs(page)
		all = append(all, raw...)
		return err
	})
	if err != nil {
		return read, err
	}
	b, err := json.Marshal(struct {
		Entries  []json.RawMessage `json:"entries"`
		Position int64             `json:"position,string"`
	}{append([]json.RawMessage{}, all...), read.position})
	if err != nil {
		return read, err
	}
	return read, writeJSON(w, b)
}

// replace writes a file beside another and then puts it in its place: whoever opens that sees the old
// one or the whole new one.
func replace(path string, write func(io.Writer) error) error {
	f, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".*")
	if err != nil {
		return fmt.Errorf("%s cannot be written: %w", path, causeOf(err))
	}
	err = errors.Join(write(f), f.Chmod(0o644), f.Close())
	if err == nil {
		if err = os.Rename(f.Name(), path); err != nil {
			err = fmt.Errorf("%s cannot be replaced: %w", path, causeOf(err))
		}
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return nil
}

// causeOf is why a file cannot be had, without the name of the one beside it, which nobody typed.
func causeOf(err error) error {
	var made *fs.PathError
	var moved *os.LinkError
	switch {
	case errors.As(err, &made):
		return made.Err
	case errors.As(err, &moved):
		return moved.Err
	}
	return err
}
