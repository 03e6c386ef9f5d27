package server

import (
	"context"

	"github.com/google/uuid"

	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// theLetterhead stands for the one there is where its facts are counted.
var theLetterhead = uuid.MustParse("01900000-0000-7000-8000-000000000006")

// GetLetterhead implements IntakeService.
func (s *Server) GetLetterhead(ctx context.Context, _ *intakev1.GetLetterheadRequest) (*intakev1.GetLetterheadResponse, error) {
	var l intake.Letterhead
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		l, err = store.New(q).Letterhead(ctx)
		return err
	})
	if err != nil {
		return nil, err
	}
	return &intakev1.GetLetterheadResponse{Letterhead: encodeLetterhead(l)}, nil
}

// SetLetterhead implements IntakeService.
func (s *Server) SetLetterhead(ctx context.Context, r *intakev1.SetLetterheadRequest) (*intakev1.SetLetterheadResponse, error) {
	now, to := s.Shop.Now(), decodeLetterhead(r.Letterhead)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*intakev1.SetLetterheadResponse, error) {
		st := store.New(tx)
		before, err := st.LockLetterhead(ctx)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Etag, before.Version); err != nil {
			return nil, err
		}
		l, err := before.Say(to)
		if err != nil {
			return nil, err
		}
		if err := st.SetLetterhead(ctx, l); err != nil {
			return nil, err
		}
		return &intakev1.SetLetterheadResponse{Letterhead: encodeLetterhead(l)}, s.Log.Append(ctx, tx, outbox.Event{
			Kind: "letterhead", Aggregate: theLetterhead, Version: l.Version, OccurredAt: now, Payload: &eventsv1.LetterheadSet{ShopName: l.Name, Paper: string(l.Paper)}}, now)
	})
}

var papers = map[intakev1.Letterhead_Paper]intake.Paper{
	intakev1.Letterhead_PAPER_UNSPECIFIED: "", intakev1.Letterhead_PAPER_A4: intake.A4, intakev1.Letterhead_PAPER_LETTER: intake.Letter,
}

func decodeLetterhead(m *intakev1.Letterhead) intake.Letterhead {
	l := intake.Letterhead{Name: wire.Name(m.ShopName), Phone: wire.Name(m.Phone), Email: m.Email, Web: wire.Name(m.Web), Tax: wire.Name(m.TaxNumber), Closing: wire.Name(m.Closing),
		Paper: papers[m.Paper]}
	for _, line := range m.Address {
		l.Address = append(l.Address, wire.Name(line))
	}
	return l
}

func encodeLetterhead(l intake.Letterhead) *intakev1.Letterhead {
	return &intakev1.Letterhead{ShopName: l.Name, Address: l.Address, Phone: l.Phone, Email: l.Email, Web: l.Web, TaxNumber: l.Tax, Closing: l.Closing,
		Paper: named(papers, l.Paper), Etag: wire.Etag(l.Version)}
}
