package server

import (
	"context"
	"slices"

	"tackfree/pkg/fault"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// journal is a journal that somebody reads by pages, which are all of the moment of the first.
type journal struct {
	of      store.JournalOf
	counted *costing.Month // what counts in it is asked for; nil: what happened in a period
	from    journalMark    // where the page begins
	size    int32
}

// journalMark is a place in a journal. Until is the position up to which its pages go; 0: nobody has
// fixed it yet.
type journalMark struct {
	store.LineMark
	Until int64
}

// ListJournal implements AnswerService.
func (s *Server) ListJournal(ctx context.Context, r *costingv1.ListJournalRequest) (*costingv1.ListJournalResponse, error) {
	j, err := s.decodeJournal(r)
	if err != nil {
		return nil, err
	}
	var entries [][]costing.Posted
	var told []costing.Told
	out := &costingv1.ListJournalResponse{}
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if err := s.fix(ctx, st, j); err != nil {
			return err
		}
		if entries, err = st.Journal(ctx, j.of, j.from.LineMark, j.size); err != nil {
			return err
		}
		if told, err = s.tell(ctx, st, slices.Concat(entries...)); err != nil {
			return err
		}
		out.NextPageToken = page.Next(entries, j.size, func(e []costing.Posted) any { return journalMark{store.MarkOf(e[0]), j.from.Until} })
		out.Position = j.from.Until
		if j.counted == nil || out.NextPageToken != "" {
			return nil
		}
		out.Entries, err = s.rest(ctx, st, *j.counted)
		return err
	})
	if err != nil {
		return nil, err
	}
	var all []*costingv1.JournalEntry
	for _, e := range entries {
		all = append(all, s.encodeEntry(told[:len(e)]))
		told = told[len(e):]
	}
	out.Entries = append(all, out.Entries...)
	return out, nil
}

// decodeJournal reads what is asked for. Faults: TIME_MALFORMED, MONTH_ALONE, those of period and decodeMonth.
func (s *Server) decodeJournal(r *costingv1.ListJournalRequest) (*journal, error) {
	j := &journal{size: page.Size(r.PageSize)}
	if err := page.Read(r.PageToken, &j.from); err != nil {
		return nil, err
	}
	if r.RecordedSince != nil {
		if err := r.RecordedSince.CheckValid(); err != nil {
			return nil, fault.New(fault.Invalid, "TIME_MALFORMED", "The time since when is not an instant.").At("recorded_since").Because(err)
		}
		j.of.RecordedSince = r.RecordedSince.AsTime()
	}
	period, err := s.period(r.FromDate, r.ToDate)
	j.of.Excerpt, j.of.After = costing.All(period), r.AfterPosition
	if err != nil || r.CountedMonth == nil {
		return j, err
	}
	if r.FromDate != nil || r.ToDate != nil || r.RecordedSince != nil || r.AfterPosition != 0 {
		return nil, fault.New(fault.Invalid, "MONTH_ALONE", "Ask for all that counts in a month, or for days and what is new; not for both at once.").At("counted_month")
	}
	month, err := s.decodeMonth("counted_month", r.CountedMonth)
	j.counted = &month
	return j, err
}

// encodeEntry writes a transaction; what it is in words is what its lines are, each thing once.
func (s *Server) encodeEntry(lines []costing.Told) *costingv1.JournalEntry {
	first := lines[0]
	out := &costingv1.JournalEntry{Id: first.Transaction.String(), Date: wire.ToDay(first.OccurredAt.In(s.Shop.Zone)), OccurTime: wire.ToInstant(first.OccurredAt),
		RecordTime: wire.ToInstant(first.RecordedAt), EventId: first.Event.String(), Description: costing.Describe(lines), CountsOnDate: wire.ToDay(first.CountsOn)}
	for _, l := range lines {
		line := s.encodeSide(l.Line)
		line.Tag, line.PersonName = l.Tag, l.PersonName
		out.Lines = append(out.Lines, line)
	}
	return out
}

// encodeSide writes a line as a debit or a credit.
func (s *Server) encodeSide(l costing.Line) *costingv1.JournalEntry_Line {
	entry := s.Keeper.Rules.Entry(l.Account)
	out := &costingv1.JournalEntry_Line{Account: string(l.Account), AccountNumber: entry.Number, AccountTitle: entry.Title, Piece: pieceName(l.Piece)}
	if l.Amount < 0 {
		out.Credit = s.Shop.ToMoney(-l.Amount)
	} else {
		out.Debit = s.Shop.ToMoney(l.Amount)
	}
	return out
}
