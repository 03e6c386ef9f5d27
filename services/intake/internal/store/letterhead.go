package store

import (
	"context"

	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store/storedb"
)

// Letterhead reads whose letters the shop's are.
func (s Store) Letterhead(ctx context.Context) (intake.Letterhead, error) {
	row, err := s.q.Letterhead(ctx)
	return intake.Letterhead{Name: row.ShopName, Address: row.Address, Phone: row.Phone, Email: row.Email, Web: row.Web, Tax: row.TaxNumber, Closing: row.Closing,
		Paper: intake.Paper(row.Paper), Version: row.Version}, err
}

// LockLetterhead reads it and keeps others from changing it until the transaction ends. The lock is a statement
// before the reading one, which therefore sees what the lock was waited for.
func (s Store) LockLetterhead(ctx context.Context) (intake.Letterhead, error) {
	if err := s.q.LockLetterhead(ctx); err != nil {
		return intake.Letterhead{}, err
	}
	return s.Letterhead(ctx)
}

// SetLetterhead writes it.
func (s Store) SetLetterhead(ctx context.Context, l intake.Letterhead) error {
	return s.q.SetLetterhead(ctx, storedb.SetLetterheadParams{ShopName: l.Name, Address: lines(l.Address), Phone: l.Phone, Email: l.Email, Web: l.Web, TaxNumber: l.Tax,
		Closing: l.Closing, Paper: string(l.Paper), Version: l.Version})
}
