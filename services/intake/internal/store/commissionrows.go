package store

import (
	"context"
	"encoding/json"
	"fmt"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store/storedb"
)

// withEstimates adds their estimates, which read reads, and their change orders to commissions.
func (s Store) withEstimates(ctx context.Context, rows []storedb.GetCommissionRow, read func(context.Context, []id.ID) ([]storedb.Estimate, error)) ([]intake.Commission, error) {
	all := make([]intake.Commission, len(rows))
	ids := make([]id.ID, len(rows))
	at := make(map[id.ID]*intake.Commission, len(rows))
	for i, row := range rows {
		var err error
		if all[i], err = fromCommissionRow(row); err != nil {
			return nil, err
		}
		ids[i], at[all[i].ID] = all[i].ID, &all[i]
	}
	estimates, err := read(ctx, ids)
	if err != nil {
		return nil, err
	}
	for _, row := range estimates {
		var e intake.Estimate
		if e.Answer, err = fromDocuments(row.Body, row.Answer, &e); err != nil {
			return nil, fmt.Errorf("version %d of an estimate: %w", row.Version, err)
		}
		at[row.CommissionID].Estimates = append(at[row.CommissionID].Estimates, e)
	}
	return all, s.addChangeOrders(ctx, ids, at)
}

func (s Store) addChangeOrders(ctx context.Context, ids []id.ID, to map[id.ID]*intake.Commission) error {
	orders, err := s.q.ListChangeOrders(ctx, ids)
	if err != nil {
		return err
	}
	for _, row := range orders {
		o := intake.ChangeOrder{State: intake.ChangeOrderState(row.State)}
		if o.Answer, err = fromDocuments(row.Body, row.Answer, &o); err != nil {
			return fmt.Errorf("change order %d: %w", row.Number, err)
		}
		to[row.CommissionID].ChangeOrders = append(to[row.CommissionID].ChangeOrders, o)
	}
	return nil
}

func fromDocuments(body, answer []byte, to any) (*intake.ClientAnswer, error) {
	if err := json.Unmarshal(body, to); err != nil || answer == nil {
		return nil, err
	}
	a := &intake.ClientAnswer{}
	return a, json.Unmarshal(answer, a)
}

// orAbsent reads a document; nil where there is none.
func orAbsent[T any](document []byte) (*T, error) {
	if document == nil {
		return nil, nil
	}
	to := new(T)
	return to, json.Unmarshal(document, to)
}

func fromCommissionRow(row storedb.GetCommissionRow) (intake.Commission, error) {
	c := row.Commission
	out := intake.Commission{ID: c.ID, Number: c.Number, Client: c.ClientID, ClientNumber: row.ClientNumber, ClientName: row.DisplayName, Piece: c.PieceID.UUID, PieceTag: row.PieceTag,
		Description: c.Description, State: intake.CommissionState(c.State), Approved: c.ApprovedVersion, BegunAt: c.BegunAt, Version: c.Version}
	var err error
	if out.Settlement, err = orAbsent[intake.Settlement](c.Settlement); err != nil {
		return out, err
	}
	out.Finish, err = orAbsent[intake.Finish](c.Finish)
	return out, err
}

// CommissionTerms reads what holds of estimates that say nothing else.
func (s Store) CommissionTerms(ctx context.Context) (intake.CommissionTerms, error) {
	row, err := s.q.CommissionTerms(ctx)
	return intake.CommissionTerms{Rate: money.Amount(row.Rate), Markup: row.Markup, Tax: row.Tax, Deposit: row.Deposit, ValidDays: row.ValidDays,
		Rule: intake.CancelRule(row.CancelRule), CancelPercent: row.CancelPercent, LabourUntaxed: row.LabourUntaxed, Version: row.Version}, err
}

// LockCommissionTerms reads them and keeps others from changing them until the transaction ends. The lock is a
// statement before the reading one, which therefore sees what the lock was waited for.
func (s Store) LockCommissionTerms(ctx context.Context) (intake.CommissionTerms, error) {
	if err := s.q.LockCommissionTerms(ctx); err != nil {
		return intake.CommissionTerms{}, err
	}
	return s.CommissionTerms(ctx)
}

// SetCommissionTerms writes them.
func (s Store) SetCommissionTerms(ctx context.Context, t intake.CommissionTerms) error {
	return s.q.SetCommissionTerms(ctx, storedb.SetCommissionTermsParams{Rate: int64(t.Rate), Markup: t.Markup, Tax: t.Tax, Deposit: t.Deposit, ValidDays: t.ValidDays,
		CancelRule: string(t.Rule), CancelPercent: t.CancelPercent, LabourUntaxed: t.LabourUntaxed, Version: t.Version})
}
