package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/store"
)

// Verify implements BooksService.
func (s *Server) Verify(ctx context.Context, _ *costingv1.VerifyRequest) (*costingv1.VerifyResponse, error) {
	r, err := s.Keeper.Verify(ctx)
	if err != nil {
		return nil, err
	}
	out := &costingv1.VerifyResponse{Clean: r.Count == 0 && !r.Unbooked.Any(), Events: r.Events, LedgerLines: r.Lines,
		Differences: r.Differences, DifferenceCount: r.Count, RefusedCount: r.Unbooked.Refused, WaitingCount: r.Unbooked.Waiting}
	if first := r.Unbooked.First; r.Unbooked.Any() {
		out.FirstUnbooked = &costingv1.VerifyResponse_Unbooked{Producer: first.Producer, Aggregate: first.Aggregate, EventId: first.ID, Reason: first.Reason}
	}
	return out, nil
}

// Rebuild implements BooksService.
func (s *Server) Rebuild(ctx context.Context, _ *costingv1.RebuildRequest) (*costingv1.RebuildResponse, error) {
	r, err := s.Keeper.Rebuild(ctx)
	if err != nil {
		return nil, err
	}
	out := &costingv1.RebuildResponse{Events: r.Events, LedgerLines: r.Lines, DifferenceCount: r.Count}
	if !r.JournalFrom.IsZero() {
		out.JournalFromDate = wire.ToDay(r.JournalFrom.In(s.Shop.Zone))
	}
	return out, nil
}

// ListDeadLetters implements BooksService.
func (s *Server) ListDeadLetters(ctx context.Context, r *costingv1.ListDeadLettersRequest) (*costingv1.ListDeadLettersResponse, error) {
	var after id.ID
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var letters []inbox.DeadLetter
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		letters, err = inbox.DeadLetters(ctx, q, after, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &costingv1.ListDeadLettersResponse{NextPageToken: page.Next(letters, size, func(l inbox.DeadLetter) any { return l.ID })}
	for _, l := range letters {
		out.DeadLetters = append(out.DeadLetters, encodeLetter(l))
	}
	return out, nil
}

func encodeLetter(l inbox.DeadLetter) *costingv1.DeadLetter {
	out := &costingv1.DeadLetter{Name: id.Name("deadLetters", l.ID), Producer: l.Producer, Subject: l.Subject,
		EventId: l.EventID, Error: l.Error, Tries: l.Tries, FirstTime: wire.ToInstant(l.FirstAt)}
	if l.Piece != nil {
		out.Piece = id.Name("pieces", *l.Piece)
	}
	return out
}

// RetryDeadLetter implements BooksService. Booking an event twice is booking it once, so
// the answer need not be kept.
func (s *Server) RetryDeadLetter(ctx context.Context, r *costingv1.RetryDeadLetterRequest) (*costingv1.RetryDeadLetterResponse, error) {
	letter, err := id.One("name", r.Name, "deadLetters")
	if err != nil {
		return nil, err
	}
	return &costingv1.RetryDeadLetterResponse{}, s.Inbox.Retry(ctx, letter)
}

// GetProgress implements BooksService.
func (s *Server) GetProgress(ctx context.Context, _ *costingv1.GetProgressRequest) (*costingv1.GetProgressResponse, error) {
	var p inbox.Progress
	var outdated bool
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		if outdated, err = s.Keeper.OutdatedIn(ctx, store.New(q)); err != nil {
			return err
		}
		p, err = inbox.ReadProgress(ctx, q)
		return err
	})
	return &costingv1.GetProgressResponse{Parked: p.Parked, Dead: p.Dead, Behind: p.Behind, Outdated: outdated,
		CompareTime: wire.ToInstant(p.ComparedAt), Trouble: s.Inbox.Trouble()}, err
}
