package server

import (
	"context"
	"fmt"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/markdown"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// TakeMarkdownAdvice implements MarkdownService. Advice is asked for before the transaction; asked again, the command has
// the answer that it got.
func (s *Server) TakeMarkdownAdvice(ctx context.Context, r *salesv1.TakeMarkdownAdviceRequest) (*salesv1.TakeMarkdownAdviceResponse, error) {
	now := s.Shop.Now()
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	advised, adviceErr := s.advisedSteps(ctx, r, now)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.TakeMarkdownAdviceResponse, error) {
		if adviceErr != nil {
			return nil, adviceErr
		}
		l, err := lockAt(ctx, store.New(tx), piece, r.Etag)
		if err != nil {
			return nil, err
		}
		if err := s.askAdvised(ctx, tx, &l, advised[0], now); err != nil {
			return nil, err
		}
		plan, err := s.beginPlan(ctx, tx, &l, sales.Plan{Steps: advised[1:], FromAdvice: true}, now)
		if err != nil {
			return nil, err
		}
		return &salesv1.TakeMarkdownAdviceResponse{Plan: s.encodePlan(piece, plan), Listing: s.encode(l)}, nil
	})
}

// advisedSteps are what to ask from today on and then from later days on. Faults: those of AdvisePrice, ADVICE_WITHOUT_MARKDOWN.
func (s *Server) advisedSteps(ctx context.Context, r *salesv1.TakeMarkdownAdviceRequest, now time.Time) ([]sales.Step, error) {
	a, err := s.AdvisePrice(ctx, &salesv1.AdvisePriceRequest{Piece: r.Piece, Guess: r.Guess})
	if err != nil {
		return nil, err
	}
	told := a.GetWays()[0].GetSteps()
	if len(told) < 2 {
		return nil, fault.New(fault.Precondition, "ADVICE_WITHOUT_MARKDOWN",
			"The advice is to ask one price all the time, so there is nothing to plan; ask that price.").At("piece")
	}
	today, out := markdown.Today(s.Shop, now), make([]sales.Step, len(told))
	for i, step := range told {
		out[i].Day = today.AddDate(0, 0, int(step.Day))
		if out[i].Asking, err = s.Shop.Money(fmt.Sprintf("steps[%d]", i), step.AskingPrice); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// askAdvised asks at once what is advised from today on, if it is another price.
func (s *Server) askAdvised(ctx context.Context, tx *pg.Tx, l *sales.Listing, first sales.Step, now time.Time) error {
	if first.Asking == l.AskingPrice {
		return nil
	}
	from, err := l.ChangeAskingPrice(first.Asking)
	if err != nil {
		return err
	}
	e := &eventsv1.AskingPriceChanged{From: s.Shop.ToMoney(from), To: s.Shop.ToMoney(l.AskingPrice), Reason: "as price advice has it"}
	return s.append(ctx, tx, *l, now.UTC().Truncate(time.Millisecond), now, e)
}
