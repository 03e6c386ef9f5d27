package server

import (
	"context"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/markdown"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// TakeMarkdownAdvice implements MarkdownService. Advice is asked for before the transaction; asked again, the command has
// the answer that it got. Of a listing that changed meanwhile the advice is of what is no more, and is not taken.
func (s *Server) TakeMarkdownAdvice(ctx context.Context, r *salesv1.TakeMarkdownAdviceRequest) (*salesv1.TakeMarkdownAdviceResponse, error) {
	now := s.Shop.Now()
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	advised, seen, adviceErr := s.advisedSteps(ctx, r, now)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*salesv1.TakeMarkdownAdviceResponse, error) {
		if adviceErr != nil {
			return nil, adviceErr
		}
		l, err := lockAt(ctx, store.New(tx), piece, r.Etag)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(wire.Etag(seen), l.Version); err != nil {
			return nil, err // it was reckoned on a listing that is another by now
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

// advisedSteps are what to ask from today on and then from later days on, and the version of the listing that they are for. Faults: those of AdvisePrice, ADVICE_WITHOUT_MARKDOWN.
func (s *Server) advisedSteps(ctx context.Context, r *salesv1.TakeMarkdownAdviceRequest, now time.Time) (steps []sales.Step, seen int64, err error) {
	a, o, err := s.advise(ctx, &salesv1.AdvisePriceRequest{Piece: r.Piece, Guess: r.Guess})
	if err != nil {
		return nil, 0, err
	}
	told := a.Ways[0].Steps
	if len(told) < 2 {
		return nil, 0, fault.New(fault.Precondition, "ADVICE_WITHOUT_MARKDOWN",
			"The advice is to ask one price all the time, so there is nothing to plan; ask that price.").At("piece")
	}
	today := markdown.Today(s.Shop, now)
	for _, step := range told {
		steps = append(steps, sales.Step{Day: today.AddDate(0, 0, step.Day), Asking: step.Asking})
	}
	return steps, o.version, nil
}

// askAdvised asks at once what is advised from today on, if it is less: taking advice raises nothing.
func (s *Server) askAdvised(ctx context.Context, tx *pg.Tx, l *sales.Listing, first sales.Step, now time.Time) error {
	from, err := l.AskAtMost(first.Asking)
	if err != nil || from == 0 {
		return err
	}
	e := &eventsv1.AskingPriceChanged{From: s.Shop.ToMoney(from), To: s.Shop.ToMoney(l.AskingPrice), Reason: "as price advice has it"}
	return s.append(ctx, tx, *l, now.UTC().Truncate(time.Millisecond), now, e)
}
