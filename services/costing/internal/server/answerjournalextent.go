package server

import (
	"cmp"
	"context"
	"slices"

	"tackfree/pkg/fault"
	"tackfree/pkg/ledger"
	"tackfree/pkg/wire"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// fix says which lines the pages of a journal are of: of the first page what the books have now, and of
// others what they had then. Faults: POSITION_AHEAD, JOURNAL_REMADE, JOURNAL_CHANGED.
func (s *Server) fix(ctx context.Context, st store.Store, j *journal) error {
	line, changed, err := st.JournalEnd(ctx, max(j.of.After, j.from.Until))
	if err != nil {
		return err
	}
	switch last := max(line, changed); {
	case j.from.Until != 0 && changed > j.from.Until:
		return fault.New(fault.Conflict, "JOURNAL_CHANGED", "While the journal was read the books were made anew, or a month was closed or opened again; take it from its beginning.").At("page_token")
	case last < j.of.After:
		return fault.New(fault.Precondition, "POSITION_AHEAD", "The books have not come to position %d; they are another shop's, or were set back to a backup. Take the journal anew.", j.of.After).At("after_position")
	case j.from.Until == 0:
		j.from.Until = last
	}
	if err := s.unmade(ctx, st, j.of); err != nil {
		return err
	}
	if j.counted != nil {
		cuts, err := st.Cuts(ctx, s.Shop.Zone)
		if err != nil {
			return err
		}
		j.of.Excerpt = cuts.Of(*j.counted)
	}
	j.of.Until = min(j.of.Until, j.from.Until)
	return nil
}

// unmade refuses to go on from a position where a rebuild has put other entries in place since, or that the books gave
// out before they were set back. Fault: JOURNAL_REMADE.
func (s *Server) unmade(ctx context.Context, st store.Store, of store.JournalOf) error {
	if of.After == 0 {
		return nil
	}
	since, some, err := st.RemadeAfter(ctx, of.After)
	if err != nil || !some || !since.Before(of.To) {
		return err
	}
	if since.IsZero() {
		return fault.New(fault.Precondition, "JOURNAL_REMADE", "The books were set back to a backup that does not know position %d, and what was taken up to there may never have been. Take the journal anew, whole and without a position, in place of all that was taken of it.", of.After).At("after_position")
	}
	day := dayOf(since.In(s.Shop.Zone))
	return fault.New(fault.Precondition, "JOURNAL_REMADE", "The books were made anew after position %d, and their entries from %s on are others now. Take those days anew, without a position, in place of what was taken of them; what is new of the days before can be had with the position and the day before as the last.", of.After, day).
		At("after_position").With("from_date", day)
}

// rest is the entry of what a month comes to beyond its lines; none is usual.
func (s *Server) rest(ctx context.Context, st store.Store, month costing.Month) ([]*costingv1.JournalEntry, error) {
	cuts, err := st.Cuts(ctx, s.Shop.Zone)
	if err != nil {
		return nil, err
	}
	lines, err := st.JournalSums(ctx, cuts.Of(month))
	if err != nil {
		return nil, err
	}
	months, err := s.months(ctx, st, s.Shop.Now())
	rest := costing.Rest(months.Of(month), lines).Balances()
	if err != nil || len(rest) == 0 {
		return nil, err
	}
	slices.SortFunc(rest, func(a, b ledger.Balance) int { return cmp.Compare(a.Account, b.Account) })
	return []*costingv1.JournalEntry{s.encodeRest(month, rest)}, nil
}

// encodeRest writes it as an entry of no event, of the month's first instant.
func (s *Server) encodeRest(month costing.Month, rest []ledger.Balance) *costingv1.JournalEntry {
	first := wire.ToDay(month.First)
	out := &costingv1.JournalEntry{Id: "rest-" + month.String(), Date: first, CountsOnDate: first, OccurTime: wire.ToInstant(month.From),
		Description: "The books were made anew after a month was closed. What the close has counted stays, and what its entries come to now beyond that counts as late."}
	for _, b := range rest {
		out.Lines = append(out.Lines, s.encodeSide(costing.Line{Account: b.Account, Amount: b.Amount}))
	}
	return out
}
