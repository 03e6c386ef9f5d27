package store

import (
	"context"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store/storedb"
)

// NumberClient gives a client the next number. Until the transaction ends no other one gets any.
func (s Store) NumberClient(ctx context.Context, c *intake.Client) (err error) {
	c.Number, err = s.q.NextRecordNumber(ctx, "client")
	return err
}

// InsertClient writes a new client.
func (s Store) InsertClient(ctx context.Context, c intake.Client) error {
	d := c.Details
	row := storedb.InsertClientParams{ID: c.ID, Number: c.Number, DisplayName: d.Name, Phone: d.Phone, Email: d.Email, Address: lines(d.Address),
		Retired: c.Retired, AddedAt: c.AddedAt, Version: c.Version}
	row.ExemptReason, row.ExemptNumber = exemptColumns(d.Exemption)
	return s.q.InsertClient(ctx, row)
}

// UpdateClient writes what a command may change.
func (s Store) UpdateClient(ctx context.Context, c intake.Client) error {
	d := c.Details
	row := storedb.UpdateClientParams{ID: c.ID, DisplayName: d.Name, Phone: d.Phone, Email: d.Email, Address: lines(d.Address), Retired: c.Retired, Version: c.Version}
	row.ExemptReason, row.ExemptNumber = exemptColumns(d.Exemption)
	return s.q.UpdateClient(ctx, row)
}

// lines are never NULL.
func lines(all []string) []string { return append([]string{}, all...) }

func exemptColumns(e *intake.Exemption) (reason *string, number string) {
	if e == nil {
		return nil, ""
	}
	return &e.Reason, e.Number
}

// LockClient reads a client and keeps others from changing them until the transaction ends. The lock is a
// statement before the reading one, which therefore sees what the lock was waited for. Fault: CLIENT_NOT_FOUND.
func (s Store) LockClient(ctx context.Context, client id.ID) (intake.Client, error) {
	if err := s.q.LockClient(ctx, client); err != nil {
		return intake.Client{}, err
	}
	return s.GetClient(ctx, client)
}

// GetClient reads a client. Fault: CLIENT_NOT_FOUND.
func (s Store) GetClient(ctx context.Context, client id.ID) (intake.Client, error) {
	rows, err := s.q.GetClient(ctx, client)
	if err != nil {
		return intake.Client{}, err
	}
	if len(rows) == 0 {
		return intake.Client{}, fault.New(fault.NotFound, "CLIENT_NOT_FOUND", "There is no such client; look them up in the list of clients.").At("client")
	}
	return fromClientRow(rows[0]), nil
}

// ListClients reads up to limit clients with a higher number, by number; retired ones only if they are wanted.
func (s Store) ListClients(ctx context.Context, after int32, retired bool, limit int32) ([]intake.Client, error) {
	rows, err := s.q.ListClients(ctx, storedb.ListClientsParams{After: after, ShowRetired: retired, PageLimit: limit})
	clients := make([]intake.Client, len(rows))
	for i, row := range rows {
		clients[i] = fromClientRow(row)
	}
	return clients, err
}

func fromClientRow(row storedb.Client) intake.Client {
	c := intake.Client{ID: row.ID, Number: row.Number, Retired: row.Retired, AddedAt: row.AddedAt, Version: row.Version,
		Details: intake.ClientDetails{Name: row.DisplayName, Phone: row.Phone, Email: row.Email, Address: row.Address}}
	if row.ExemptReason != nil {
		c.Details.Exemption = &intake.Exemption{Reason: *row.ExemptReason, Number: row.ExemptNumber}
	}
	return c
}
