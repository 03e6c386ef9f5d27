package server

import (
	"context"
	"slices"

	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
)

// ListHours implements FloorService.
func (s *Server) ListHours(ctx context.Context, r *workflowv1.ListHoursRequest) (*workflowv1.ListHoursResponse, error) {
	f, err := readFilter(r)
	if err != nil {
		return nil, err
	}
	var after *store.HoursKey
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var lines []store.HoursLine
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		lines, err = store.New(q).Hours(ctx, hoursBy(r), f, s.Shop.Zone, after, size)
		return err
	})
	if err == nil {
		err = s.listedOf(ctx, len(lines), f.Person, f.Piece)
	}
	if err != nil {
		return nil, err
	}
	out := &workflowv1.ListHoursResponse{NextPageToken: page.Next(lines, size, func(l store.HoursLine) any { return l.HoursKey })}
	if len(r.By) == 0 {
		lines = oneLine(lines)
		out.NextPageToken = ""
	}
	for _, l := range lines {
		out.Lines = append(out.Lines, encodeHours(l))
	}
	return out, nil
}

// oneLine is the sum of all, which is there also where there is nothing to sum up.
func oneLine(lines []store.HoursLine) []store.HoursLine {
	if len(lines) == 0 {
		return make([]store.HoursLine, 1)
	}
	return lines
}

func hoursBy(r *workflowv1.ListHoursRequest) store.HoursBy {
	by := func(b workflowv1.ListHoursRequest_By) bool { return slices.Contains(r.By, b) }
	return store.HoursBy{Person: by(workflowv1.ListHoursRequest_BY_PERSON), Piece: by(workflowv1.ListHoursRequest_BY_PIECE), Stage: by(workflowv1.ListHoursRequest_BY_STAGE),
		Week: by(workflowv1.ListHoursRequest_BY_WEEK), StageKind: by(workflowv1.ListHoursRequest_BY_STAGE_KIND), Indirect: by(workflowv1.ListHoursRequest_BY_INDIRECT)}
}

func encodeHours(l store.HoursLine) *workflowv1.ListHoursResponse_Line {
	out := &workflowv1.ListHoursResponse_Line{PersonName: l.PersonName, PieceTag: l.PieceTag, StageTitle: l.StageTitle, Week: encodeDay(l.Week), StageKind: l.StageKind,
		Indirect: l.Indirect, LabourTime: durationpb.New(l.Labour), ReworkTime: durationpb.New(l.Rework), IndirectTime: durationpb.New(l.OnNone)}
	if l.Person != id.Nil {
		out.Person = id.Name("people", l.Person)
	}
	if l.Piece != id.Nil {
		out.Piece = id.Name("pieces", l.Piece)
	}
	if l.Stage != id.Nil {
		out.Stage = id.Name("pieces", l.StagePiece, "stages", l.Stage)
	}
	return out
}
