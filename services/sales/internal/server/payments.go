package server

import (
	"context"
	"time"

	"github.com/google/uuid"

	"tackfree/pkg/id"
	moneypkg "tackfree/pkg/money"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// RecordPayment implements PaymentService.
func (s *Server) RecordPayment(ctx context.Context, r *salesv1.RecordPaymentRequest) (*salesv1.RecordPaymentResponse, error) {
	now := s.Shop.Now()
	saleID, paid, amount, err := s.decodePayment(r)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.RecordPaymentResponse, error) {
		st := store.New(tx)
		l, err := st.LockOfSale(ctx, saleID)
		if err != nil {
			return nil, err
		}
		step, err := st.CashStep(ctx)
		if err != nil {
			return nil, err
		}
		p, sale, err := l.Pay(saleID, paid, amount, step, s.Shop.Currency)
		if err != nil {
			return nil, err
		}
		if err := st.Update(ctx, l); err != nil {
			return nil, err
		}
		if err := st.InsertPayment(ctx, p, sale); err != nil {
			return nil, err
		}
		e := &eventsv1.PaymentReceived{SaleId: sale.ID.String(), PaymentId: p.ID.String(), Amount: s.Shop.ToMoney(p.Amount), Rounding: s.orNone(p.Rounding), Method: string(p.Method)}
		return &salesv1.RecordPaymentResponse{Payment: s.encodePayment(p), Sale: s.encodeSale(sale)}, s.append(ctx, tx, l, p.PaidAt, now, e)
	})
}

func (s *Server) decodePayment(r *salesv1.RecordPaymentRequest) (sale id.ID, p sales.Payment, amount *moneypkg.Amount, err error) {
	p = sales.Payment{ID: id.New(), Method: methods[r.Method], Note: r.Note}
	if sale, err = id.One("sale", r.Sale, "sales"); err != nil {
		return sale, p, nil, err
	}
	if p.PaidAt, err = s.Shop.Instant("payment_time", r.PaymentTime); err != nil {
		return sale, p, nil, err
	}
	if r.Amount == nil {
		return sale, p, nil, nil
	}
	said, err := s.Shop.Money("amount", r.Amount)
	return sale, p, &said, err
}

// VoidPayment implements PaymentService.
func (s *Server) VoidPayment(ctx context.Context, r *salesv1.VoidPaymentRequest) (*salesv1.VoidPaymentResponse, error) {
	now := s.Shop.Now()
	saleID, err := id.One("sale", r.Sale, "sales")
	if err != nil {
		return nil, err
	}
	payment, err := id.One("payment", r.Payment, "payments")
	if err != nil {
		return nil, err
	}
	at, err := s.Shop.Instant("void_time", r.VoidTime)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.VoidPaymentResponse, error) {
		st := store.New(tx)
		l, err := st.LockOfSale(ctx, saleID)
		if err != nil {
			return nil, err
		}
		p, sale, err := l.VoidPayment(saleID, payment, r.Reason, at)
		if err != nil {
			return nil, err
		}
		if err := st.Update(ctx, l); err != nil {
			return nil, err
		}
		if err := st.VoidPayment(ctx, p, sale); err != nil {
			return nil, err
		}
		e := &eventsv1.PaymentVoided{SaleId: sale.ID.String(), PaymentId: p.ID.String(), Amount: s.Shop.ToMoney(p.Amount), Rounding: s.orNone(p.Rounding), Reason: p.VoidReason}
		return &salesv1.VoidPaymentResponse{Payment: s.encodePayment(p), Sale: s.encodeSale(sale)}, s.append(ctx, tx, l, at, now, e)
	})
}

// afterDue is where a page of what is due begins.
type afterDue struct {
	SoldAt time.Time
	Sale   id.ID
}

// ListDue implements PaymentService.
func (s *Server) ListDue(ctx context.Context, r *salesv1.ListDueRequest) (*salesv1.ListDueResponse, error) {
	from := afterDue{}
	if err := page.Read(r.PageToken, &from); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var all []store.Owed
	err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		all, err = store.New(q).Due(ctx, from.SoldAt, from.Sale, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &salesv1.ListDueResponse{NextPageToken: page.Next(all, size, func(o store.Owed) any { return afterDue{o.Sale.SoldAt, o.Sale.ID} })}
	for _, o := range all {
		out.Due = append(out.Due, &salesv1.ListDueResponse_Due{Piece: id.Name("pieces", o.Listing.Piece), Tag: o.Listing.Tag, Sale: s.encodeSale(o.Sale)})
	}
	return out, nil
}

// cashStep is the one aggregate of its kind: a shop has one step.
var cashStep = uuid.NewSHA1(uuid.NameSpaceURL, []byte("tackfree/cash_step"))

// SetCashStep implements PaymentService.
func (s *Server) SetCashStep(ctx context.Context, r *salesv1.SetCashStepRequest) (*salesv1.SetCashStepResponse, error) {
	now := s.Shop.Now()
	step, err := s.Shop.Money("step", r.Step)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.SetCashStepResponse, error) {
		st := store.New(tx)
		if err := st.LockSettings(ctx); err != nil {
			return nil, err
		}
		before, err := st.CashStep(ctx)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Etag, before.Version); err != nil {
			return nil, err
		}
		c := sales.CashStep{Step: step, Version: before.Version + 1}
		if err := st.SaveCashStep(ctx, c); err != nil {
			return nil, err
		}
		return &salesv1.SetCashStepResponse{CashStep: s.encodeCashStep(c)}, s.Log.Append(ctx, tx, outbox.Event{
			Kind: "cash_step", Aggregate: cashStep, Version: c.Version, OccurredAt: now.UTC(), Payload: &eventsv1.CashStepSet{Step: s.orNone(c.Step)}}, now)
	})
}

// GetCashStep implements PaymentService.
func (s *Server) GetCashStep(ctx context.Context, _ *salesv1.GetCashStepRequest) (*salesv1.GetCashStepResponse, error) {
	out := &salesv1.GetCashStepResponse{}
	return out, s.DB.View(ctx, func(q pg.Querier) error {
		c, err := store.New(q).CashStep(ctx)
		out.CashStep = s.encodeCashStep(c)
		return err
	})
}
