package server

import (
	"cmp"
	"context"
	"slices"

	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// period reads from which day until which a request asks. Faults: DATE_MALFORMED, DATE_ABSURD,
// PERIOD_BACKWARDS.
func (s *Server) period(from, to *date.Date) (costing.Period, error) {
	p := costing.Ever()
	if from != nil {
		first, _, err := s.bookDay("from_date", from)
		if err != nil {
			return p, err
		}
		p.From = costing.PeriodOf(first, first, s.Shop.Zone).From
	}
	if to != nil {
		last, _, err := s.bookDay("to_date", to)
		if err != nil {
			return p, err
		}
		p.To = costing.PeriodOf(last, last, s.Shop.Zone).To
	}
	if !p.From.Before(p.To) {
		return p, fault.New(fault.Invalid, "PERIOD_BACKWARDS", "The period ends before it begins; turn its days around.").At("to_date")
	}
	return p, nil
}

// ordered is a line of an answer that has its place among the others.
type ordered interface{ Order() string }

// pageOf is a page of lines that are in their order, and the token of the next one. Answers are made
// anew for each page; a line that came or went meanwhile shifts no other.
func pageOf[L ordered](lines []L, token string, asked int32) (out []L, next string, err error) {
	var after string
	if err := page.Read(token, &after); err != nil {
		return nil, "", err
	}
	if token != "" {
		from, found := slices.BinarySearchFunc(lines, after, func(l L, after string) int { return cmp.Compare(l.Order(), after) })
		if found {
			from++
		}
		lines = lines[from:]
	}
	size := page.Size(asked)
	lines = lines[:min(len(lines), int(size))]
	return lines, page.Next(lines, size, func(l L) any { return l.Order() }), nil
}

// pieceName writes the name of a piece; of none it is empty.
func pieceName(piece id.ID) string {
	if piece == id.Nil {
		return ""
	}
	return id.Name("pieces", piece)
}

// ListCostLines implements AnswerService.
func (s *Server) ListCostLines(ctx context.Context, r *costingv1.ListCostLinesRequest) (*costingv1.ListCostLinesResponse, error) {
	if (r.Piece == "") == (r.EventId == "") {
		return nil, fault.New(fault.Invalid, "LINES_OF_WHAT", "Ask for the lines of a piece or for those of an event: one of the two.").At("piece")
	}
	var after store.LineMark
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	read, err := linesOf(r, after, size)
	if err != nil {
		return nil, err
	}
	var told []costing.Told
	err = s.DB.Snapshot(ctx, func(q pg.Querier) error {
		st := store.New(q)
		lines, err := read(ctx, st)
		if err != nil {
			return err
		}
		told, err = s.tell(ctx, st, lines)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &costingv1.ListCostLinesResponse{NextPageToken: page.Next(told, size, func(l costing.Told) any { return store.MarkOf(l.Posted) })}
	for _, l := range told {
		out.Lines = append(out.Lines, s.encodeLine(l))
	}
	return out, nil
}

// linesOf reads what the lines are asked of.
func linesOf(r *costingv1.ListCostLinesRequest, after store.LineMark, size int32) (func(context.Context, store.Store) ([]costing.Posted, error), error) {
	if r.EventId != "" {
		event, err := id.Parse(r.EventId)
		if err != nil {
			return nil, fault.New(fault.Invalid, "LINES_OF_WHAT", "%q is not the id of an event, as the lines of a piece show it.", r.EventId).At("event_id")
		}
		return func(ctx context.Context, st store.Store) ([]costing.Posted, error) {
			return st.LinesOfEvent(ctx, event, after, size)
		}, nil
	}
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	return func(ctx context.Context, st store.Store) ([]costing.Posted, error) {
		if err := st.Known(ctx, piece); err != nil {
			return nil, err
		}
		return st.LinesOfPiece(ctx, piece, r.All, after, size)
	}, nil
}

// tell puts lines into words, and says when they count.
func (s *Server) tell(ctx context.Context, st store.Store, lines []costing.Posted) ([]costing.Told, error) {
	sides, labour, err := st.Told(ctx, lines)
	if err != nil {
		return nil, err
	}
	reasons, err := st.ReasonsOf(ctx, lines)
	if err != nil {
		return nil, err
	}
	closes, err := st.Settled(ctx, s.Shop.Zone)
	if err != nil {
		return nil, err
	}
	cuts, err := st.Cuts(ctx, s.Shop.Zone)
	if err != nil {
		return nil, err
	}
	cuts.Date(lines)
	spent, err := st.SpentBy(ctx, lines)
	return s.Keeper.Rules.Tell(lines, sides, labour, spent, reasons, closes), err
}
