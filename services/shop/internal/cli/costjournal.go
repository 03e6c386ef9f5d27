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
	RecordedSince string `help:"Only what was recorded from then on, of whatever day: what is new since a journal that was taken before, such as '2026-03-02 18:00'." placeholder:"TIME"`
	Format        string `help:"csv, for a spreadsheet or a bookkeeper's program, or json." enum:"csv,json" default:"csv"`
	Out           string `help:"The file to write; what was there before is replaced once all is written. Without it: standard output." placeholder:"FILE" type:"path"`
}

func (c *journalCmd) Run(e *env) error {
	r := &costingv1.ListJournalRequest{PageSize: 1000}
	var err error
	if r.FromDate, r.ToDate, err = c.days(); err != nil {
		return err
	}
	write := writeJournalCSV
	if c.Format == "json" {
		write = writeJournalJSON
	}
	return e.with(func(shop *client.Shop) error {
		if c.RecordedSince != "" {
			terms, err := shop.Terms(e.ctx)
			if err != nil {
				return err
			}
			if r.RecordedSince, err = terms.Instant(c.RecordedSince); err != nil {
				return err
			}
		}
		if c.Out == "" {
			_, err := write(e.ctx, shop, r, e.out)
			return err
		}
		entries := 0
		err := replace(c.Out, func(w io.Writer) (err error) {
			entries, err = write(e.ctx, shop, r, w)
			return err
		})
		if err == nil {
			_, err = fmt.Fprintf(e.out, "%d entries are in %s.\n", entries, c.Out)
		}
		return err
	})
}

// eachEntry reads the journal page by page, for it may be long.
func eachEntry(ctx context.Context, shop *client.Shop, r *costingv1.ListJournalRequest, fn func([]*costingv1.JournalEntry) error) (entries int, err error) {
	for {
		resp, err := shop.Answers.ListJournal(ctx, r)
		if err != nil {
			return entries, err
		}
		entries += len(resp.Entries)
		if err := fn(resp.Entries); err != nil {
			return entries, err
		}
		if r.PageToken = resp.NextPageToken; r.PageToken == "" {
			return entries, nil
		}
	}
}

func writeJournalCSV(ctx context.Context, shop *client.Shop, r *costingv1.ListJournalRequest, w io.Writer) (int, error) {
	c := report.NewCSV(w, report.JournalHeadings...)
	entries, err := eachEntry(ctx, shop, r, func(page []*costingv1.JournalEntry) error {
		report.JournalCSV(c, page, func(e *costingv1.JournalEntry) string { return client.WriteDay(e.Date) })
		return nil
	})
	return entries, errors.Join(err, c.Flush())
}

// writeJournalJSON writes a list of entries, each as the contract has it.
func writeJournalJSON(ctx context.Context, shop *client.Shop, r *costingv1.ListJournalRequest, w io.Writer) (int, error) {
	var all []json.RawMessage
	entries, err := eachEntry(ctx, shop, r, func(page []*costingv1.JournalEntry) error {
		raw, err := rawJSONs(page)
		all = append(all, raw...)
		return err
	})
	if err != nil {
		return entries, err
	}
	b, err := json.Marshal(struct {
		Entries []json.RawMessage `json:"entries"`
	}{append([]json.RawMessage{}, all...)})
	if err != nil {
		return entries, err
	}
	return entries, writeJSON(w, b)
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
