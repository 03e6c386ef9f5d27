package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wallclock"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// newestWaste is before all waste in its order.
var newestWaste = store.WasteKey{At: time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC), ID: id.Nil}

// ListWaste implements StorageService.
func (s *Server) ListWaste(ctx context.Context, r *materialsv1.ListWasteRequest) (*materialsv1.ListWasteResponse, error) {
	in, err := decodePeriod(r.FromTime, r.ToTime)
	if err != nil {
		return nil, err
	}
	before := newestWaste
	if err := page.Read(r.PageToken, &before); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	waste, err := s.waste(ctx, in, r.Cause, before, size)
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListWasteResponse{Caution: materials.WasteCaution,
		NextPageToken: page.Next(waste, size, func(w materials.Waste) any { return store.WasteKey{At: w.At, ID: w.ID} })}
	for _, w := range waste {
		out.Waste = append(out.Waste, s.encodeWaste(w))
	}
	return out, nil
}

func (s *Server) waste(ctx context.Context, in materials.Period, cause materialsv1.WasteCause, before store.WasteKey, limit int32) (waste []materials.Waste, err error) {
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		waste, err = store.New(q).Waste(ctx, in, causes[cause], before, limit)
		return err
	})
	return waste, err
}

// decodePeriod reads a stretch of time, either end of which may be left out and lie in the
// future. Faults: TIME_MALFORMED, FROM_AFTER_TO.
func decodePeriod(from, to *timestamppb.Timestamp) (p materials.Period, err error) {
	if p.From, err = instantOrNone("from_time", from); err != nil {
		return p, err
	}
	if p.To, err = instantOrNone("to_time", to); err != nil {
		return p, err
	}
	return p, p.Check()
}

func instantOrNone(field string, ts *timestamppb.Timestamp) (time.Time, error) {
	if ts == nil {
		return time.Time{}, nil
	}
	if err := ts.CheckValid(); err != nil {
		return time.Time{}, fault.New(fault.Invalid, "TIME_MALFORMED", "%s is not an instant.", fault.The(field)).At(field).Because(err)
	}
	return ts.AsTime(), nil
}

func (s *Server) encodeWaste(w materials.Waste) *materialsv1.Waste {
	return &materialsv1.Waste{
		Name: id.Name("products", w.Product, "entries", w.ID), ProductName: w.ProductName, Time: wire.ToInstant(w.At), Cause: encodeCause(w.Cause),
		Quantity: wire.ToQuantity(w.Quantity, w.Unit), Cost: s.Shop.ToMoney(w.Cost), Stage: stageName(w.Stage), StageKind: w.Stage.Kind, Note: w.Note, Actor: w.Actor}
}

// stageName is pieces/{piece}/stages/{id}; of no stage it is empty.
func stageName(stage materials.Stage) string {
	if stage.ID == id.Nil {
		return ""
	}
	return id.Name("pieces", stage.Piece, "stages", stage.ID)
}

// mostWaste is how many rows a table of waste may have, some years of a busy shop.
const mostWaste = 50_000

// ExportWaste implements StorageService.
func (s *Server) ExportWaste(ctx context.Context, r *materialsv1.ExportWasteRequest) (*materialsv1.ExportWasteResponse, error) {
	in, err := decodePeriod(r.FromTime, r.ToTime)
	if err != nil {
		return nil, err
	}
	waste, err := s.waste(ctx, in, r.Cause, newestWaste, mostWaste+1)
	if err != nil {
		return nil, err
	}
	if len(waste) > mostWaste {
		return nil, fault.New(fault.Invalid, "WASTE_TOO_MUCH", "That is more than %d rows of waste; export a shorter time.", mostWaste).At("from_time")
	}
	when := func(w materials.Waste) string { return wallclock.Write(w.At, s.Shop.Zone) }
	return &materialsv1.ExportWasteResponse{Csv: materials.WasteTable(waste, s.Shop.Currency, caller.Of(ctx).IsTold(typev1.Role_ROLE_LEAD), when)}, nil
}
