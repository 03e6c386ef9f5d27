package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store/storedb"
)

// Noted is an entry beside its product.
type Noted struct {
	materials.Posted
	Product    materials.Product
	Recostings int32 // how often earlier entries that were noted later changed it
	Undone     bool  // it counts as if it had never been
}

// Issue is an issue beside the product that went.
type Issue struct {
	materials.Issue
	Product materials.Product
}

// EntryKey is a place in the order of entries; the zero key is before the newest.
type EntryKey struct {
	At time.Time
	ID id.ID
}

// afterAll is later than any entry.
var afterAll = EntryKey{At: time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)}

// EntryFilter says which entries are meant.
type EntryFilter struct {
	Product, Piece id.ID // id.Nil: any
	Purposes       []string
	From           time.Time
	Until          time.Time // zero: without end
}

// Entries reads up to limit entries that are older than a place, newest first.
func (s Store) Entries(ctx context.Context, f EntryFilter, before EntryKey, limit int32) ([]Noted, error) {
	if before.At.IsZero() {
		before = afterAll
		if !f.Until.IsZero() {
			before = EntryKey{At: f.Until}
		}
	}
	if f.Purposes == nil {
		f.Purposes = []string{}
	}
	rows, err := s.q.ListEntries(ctx, storedb.ListEntriesParams{ProductID: unlessNil(f.Product), PieceID: unlessNil(f.Piece), Purposes: f.Purposes,
		FromAt: f.From, BeforeAt: before.At, BeforeID: before.ID, PageLimit: limit})
	if err != nil {
		return nil, err
	}
	noted := make([]Noted, len(rows))
	all := make([]id.ID, len(rows))
	for n, row := range rows {
		all[n] = row.Entry.ID
		noted[n].Entry, noted[n].Undone = fromEntryRow(row.Entry), row.Undone
		if noted[n].Product, err = fromRow(row.Product); err != nil {
			return nil, err
		}
	}
	return noted, s.withParts(ctx, noted, all)
}

func (s Store) withParts(ctx context.Context, noted []Noted, all []id.ID) error {
	rows, err := s.q.ListParts(ctx, all)
	if err != nil {
		return err
	}
	at := make(map[id.ID]*Noted, len(noted))
	for n := range noted {
		at[noted[n].ID] = &noted[n]
	}
	for _, row := range rows {
		n := at[row.EntryID]
		n.Recostings = max(n.Recostings, row.Recosted)
		if p := partOf(row.LotID, row.Quantity, row.Cost); !p.Quantity.IsZero() || p.Cost != 0 {
			n.Parts = append(n.Parts, p)
		}
	}
	return nil
}

// Issues reads up to limit issues that are older than a place, newest first.
func (s Store) Issues(ctx context.Context, f EntryFilter, before EntryKey, limit int32) ([]Issue, error) {
	f.Purposes = []string{string(materials.ForIssue)}
	noted, err := s.Entries(ctx, f, before, limit)
	if err != nil {
		return nil, err
	}
	return s.withBacks(ctx, noted)
}

// withBacks reads what came back of issues.
func (s Store) withBacks(ctx context.Context, noted []Noted) ([]Issue, error) {
	issues, all := make([]Issue, len(noted)), make([]id.ID, len(noted))
	at := make(map[id.ID]*Issue, len(noted))
	for n, e := range noted {
		issues[n], all[n] = Issue{Issue: materials.Issue{Posted: e.Posted}, Product: e.Product}, e.ID
		at[e.ID] = &issues[n]
	}
	backs, err := s.backs(ctx, all)
	for _, b := range backs {
		i := at[b.Of]
		if b.Purpose == materials.ForTakeBack {
			i.Back = &materials.TakeBack{Reason: b.Reason, At: b.UndoneAt, Actor: b.Actor}
			continue
		}
		i.Returned.Quantity, i.Returned.Cost = i.Returned.Quantity.Add(b.Quantity), i.Returned.Cost+b.Total()
	}
	return issues, err
}

// backs reads what came back of entries, the oldest first.
func (s Store) backs(ctx context.Context, of []id.ID) ([]materials.Posted, error) {
	rows, err := s.q.ListBacks(ctx, of)
	if err != nil || len(rows) == 0 {
		return nil, err
	}
	noted, all := make([]Noted, len(rows)), make([]id.ID, len(rows))
	for n, row := range rows {
		noted[n].Entry, all[n] = fromEntryRow(row.Entry), row.Entry.ID
	}
	err = s.withParts(ctx, noted, all)
	backs := make([]materials.Posted, len(noted))
	for n := range noted {
		backs[n] = noted[n].Posted
	}
	return backs, err
}

// LockEntry reads an entry of a product, whose lock it takes. Faults: ENTRY_NOT_FOUND, ENTRY_UNDONE.
func (s Store) LockEntry(ctx context.Context, product, entry id.ID) (materials.Entry, error) {
	if err := s.q.LockProductFirst(ctx, product); err != nil {
		return materials.Entry{}, err
	}
	row, err := s.q.GetEntry(ctx, storedb.GetEntryParams{ID: entry, ProductID: product})
	if errors.Is(err, pgx.ErrNoRows) {
		return materials.Entry{}, fault.New(fault.NotFound, "ENTRY_NOT_FOUND", "Nothing of this product was written down under that name; look it up in its history.").At("entry")
	}
	if err == nil && row.Undone {
		err = fault.New(fault.Precondition, "ENTRY_UNDONE", "That was undone already.").At("entry")
	}
	return fromEntryRow(row.Entry), err
}

// LockIssue reads an issue on the shelf of its product, with its piece, and keeps others from
// changing these until the transaction ends. Fault: ISSUE_NOT_FOUND.
func (s Store) LockIssue(ctx context.Context, product, issue id.ID) (materials.Issue, *materials.Shelf, map[id.ID]*materials.Piece, error) {
	if err := s.q.LockProductFirst(ctx, product); err != nil {
		return materials.Issue{}, nil, nil, err
	}
	row, err := s.q.GetEntry(ctx, storedb.GetEntryParams{ID: issue, ProductID: product})
	if errors.Is(err, pgx.ErrNoRows) || err == nil && row.Entry.Purpose != string(materials.ForIssue) {
		return materials.Issue{}, nil, nil, fault.New(fault.NotFound, "ISSUE_NOT_FOUND",
			"There is no such issue of this product; look it up in the list of issues.").At("issue")
	}
	if err != nil {
		return materials.Issue{}, nil, nil, err
	}
	noted := []Noted{{Posted: materials.Posted{Entry: fromEntryRow(row.Entry)}}}
	if err := s.withParts(ctx, noted, []id.ID{issue}); err != nil {
		return materials.Issue{}, nil, nil, err
	}
	named := make([]id.ID, len(noted[0].Parts))
	for n, p := range noted[0].Parts {
		named[n] = p.Lot
	}
	shelf, pieces, err := s.Shelf(ctx, product, named, noted[0].To.Piece)
	if err != nil {
		return materials.Issue{}, nil, nil, err
	}
	issues, err := s.withBacks(ctx, noted)
	if err != nil {
		return materials.Issue{}, nil, nil, err
	}
	backs, err := s.backs(ctx, []id.ID{issue})
	shelf.Remember(noted[0].Posted, backs)
	return issues[0].Issue, shelf, pieces, err
}
