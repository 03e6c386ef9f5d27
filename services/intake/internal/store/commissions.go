package store

import (
	"context"
	"encoding/json"
	"math"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store/storedb"
)

// NumberCommission gives a commission the next number. Until the transaction ends no other one gets any.
func (s Store) NumberCommission(ctx context.Context, c *intake.Commission) (err error) {
	c.Number, err = s.q.NextRecordNumber(ctx, "commission")
	return err
}

// InsertCommission writes a new commission with its estimate. Fault at the next read or the commit: COMMISSION_OPEN.
func (s Store) InsertCommission(ctx context.Context, c intake.Commission) error {
	settlement, err := orNone(c.Settlement)
	if err != nil {
		return err
	}
	err = s.q.InsertCommission(ctx, storedb.InsertCommissionParams{ID: c.ID, Number: c.Number, ClientID: c.Client, PieceID: orNull(c.Piece), Description: c.Description,
		State: string(c.State), ApprovedVersion: c.Approved, Settlement: settlement, BegunAt: c.BegunAt, Version: c.Version})
	if err != nil {
		return err
	}
	return s.putNewest(ctx, c)
}

// UpdateCommission writes what a command may change: what it is about, its newest estimate, its change orders and its
// settlement. Fault as InsertCommission.
func (s Store) UpdateCommission(ctx context.Context, c intake.Commission) error {
	settlement, err := orNone(c.Settlement)
	if err != nil {
		return err
	}
	finish, err := orNone(c.Finish)
	if err != nil {
		return err
	}
	err = s.q.UpdateCommission(ctx, storedb.UpdateCommissionParams{ID: c.ID, PieceID: orNull(c.Piece), State: string(c.State), ApprovedVersion: c.Approved,
		Settlement: settlement, Finish: finish, Version: c.Version})
	if err != nil {
		return err
	}
	return s.putNewest(ctx, c)
}

// putNewest writes the newest estimate and the change orders, of which only the answers are ever written again.
func (s Store) putNewest(ctx context.Context, c intake.Commission) error {
	e := c.Last()
	row := storedb.PutEstimateParams{CommissionID: c.ID, Version: e.Number}
	var err error
	if row.Body, row.Answer, err = documents(e, e.Answer); err != nil {
		return err
	}
	if err := s.q.PutEstimate(ctx, row); err != nil {
		return err
	}
	for _, o := range c.ChangeOrders {
		row := storedb.PutChangeOrderParams{CommissionID: c.ID, Number: o.Number, State: string(o.State)}
		if row.Body, row.Answer, err = documents(o, o.Answer); err != nil {
			return err
		}
		if err := s.q.PutChangeOrder(ctx, row); err != nil {
			return err
		}
	}
	return nil
}

// documents are a thing and the answer to it, as they are kept.
func documents(of any, answer *intake.ClientAnswer) (body, answered []byte, err error) {
	if body, err = json.Marshal(of); err != nil {
		return nil, nil, err
	}
	answered, err = orNone(answer)
	return body, answered, err
}

// orNone writes a document, or NULL where there is none.
func orNone[T any](of *T) ([]byte, error) {
	if of == nil {
		return nil, nil
	}
	return json.Marshal(of)
}

// LockCommission reads a commission and keeps others from changing it until the transaction ends. The lock is a
// statement before the reading ones, which therefore see what the lock was waited for. Fault: COMMISSION_NOT_FOUND.
func (s Store) LockCommission(ctx context.Context, commission id.ID) (intake.Commission, error) {
	if err := s.q.LockCommission(ctx, commission); err != nil {
		return intake.Commission{}, err
	}
	return s.GetCommission(ctx, commission)
}

// GetCommission reads a commission, by several statements. Fault: COMMISSION_NOT_FOUND.
func (s Store) GetCommission(ctx context.Context, commission id.ID) (intake.Commission, error) {
	rows, err := s.q.GetCommission(ctx, commission)
	if err != nil {
		return intake.Commission{}, err
	}
	if len(rows) == 0 {
		return intake.Commission{}, fault.New(fault.NotFound, "COMMISSION_NOT_FOUND", "There is no such commission; look it up in the list of commissions.").At("commission")
	}
	all, err := s.withEstimates(ctx, rows, s.q.ListEstimates)
	if err != nil {
		return intake.Commission{}, err
	}
	return all[0], nil
}

// CommissionsOf says which commissions are wanted.
type CommissionsOf struct {
	State  intake.CommissionState // "": all
	Client id.ID                  // id.Nil: of all
	Piece  id.ID                  // id.Nil: of all
	Before int32                  // only of lower numbers; 0: from the latest on
	Limit  int32
}

// ListCommissions reads commissions, the latest first, each with the newest version of its estimate alone, by several statements.
func (s Store) ListCommissions(ctx context.Context, a CommissionsOf) ([]intake.Commission, error) {
	if a.Before == 0 {
		a.Before = math.MaxInt32
	}
	rows, err := s.q.ListCommissions(ctx, storedb.ListCommissionsParams{Before: a.Before, State: string(a.State), ClientID: a.Client, PieceID: a.Piece, PageLimit: a.Limit})
	if err != nil {
		return nil, err
	}
	same := make([]storedb.GetCommissionRow, len(rows))
	for i, row := range rows {
		same[i] = storedb.GetCommissionRow(row)
	}
	return s.withEstimates(ctx, same, s.q.NewestEstimates)
}
