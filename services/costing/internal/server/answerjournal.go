package server

import (
	"context"
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// ListJournal implements AnswerService.
func (s *Server) ListJournal(ctx context.Context, r *costingv1.ListJournalRequest) (*costingv1.ListJournalResponse, error) {
	period, err := s.period(r.FromDate, r.ToDate)
	if err != nil {
		return nil, err
	}
	var since time.Time
	if r.RecordedSince != nil {
		if err := r.RecordedSince.CheckValid(); err != nil {
			return nil, fault.New(fault.Invalid, "TIME_MALFORMED", "recorded_since is not an instant.").At("recorded_since").Because(err)
		}
		since = r.RecordedSince.AsTime()
	}
	var after store.LineMark
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var entries [][]costing.Posted
	var told []costing.Told
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if entries, err = st.Journal(ctx, period, since, after, size); err != nil {
			return err
		}
		told, err = s.tell(ctx, st, slices.Concat(entries...))
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &costingv1.ListJournalResponse{NextPageToken: page.Next(entries, size, func(e []costing.Posted) any { return store.MarkOf(e[0]) })}
	for _, e := range entries {
		out.Entries = append(out.Entries, s.encodeEntry(told[:len(e)]))
		told = told[len(e):]
	}
	return out, nil
}

// encodeEntry writes a transaction; what it is in words is what its lines are, each thing once.
func (s *Server) encodeEntry(lines []costing.Told) *costingv1.JournalEntry {
	first := lines[0]
	out := &costingv1.JournalEntry{Id: first.Transaction.String(), Date: wire.ToDay(first.OccurredAt.In(s.Shop.Zone)), OccurTime: wire.ToInstant(first.OccurredAt),
		RecordTime: wire.ToInstant(first.RecordedAt), EventId: first.Event.String(), Description: costing.Describe(lines)}
	for _, l := range lines {
		entry := s.Keeper.Rules.Entry(l.Account)
		line := &costingv1.JournalEntry_Line{Account: string(l.Account), AccountNumber: entry.Number, AccountTitle: entry.Title, Piece: pieceName(l.Piece), Tag: l.Tag, PersonName: l.PersonName}
		if l.Amount < 0 {
			line.Credit = s.Shop.ToMoney(-l.Amount)
		} else {
			line.Debit = s.Shop.ToMoney(l.Amount)
		}
		out.Lines = append(out.Lines, line)
	}
	return out
}
