package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/sentence"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// GetFlammables implements StorageService.
func (s *Server) GetFlammables(ctx context.Context, _ *materialsv1.GetFlammablesRequest) (*materialsv1.GetFlammablesResponse, error) {
	var stored []materials.Stored
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		stored, err = store.New(q).Stored(ctx)
		return err
	})
	if err != nil {
		return nil, err
	}
	places, areas := materials.CountFlammables(stored)
	out := &materialsv1.GetFlammablesResponse{Caution: materials.FlammableCaution}
	for _, f := range places {
		out.Places = append(out.Places, encodeFlammables(f))
	}
	for _, f := range areas {
		out.Areas = append(out.Areas, encodeFlammables(f))
	}
	return out, nil
}

func encodeFlammables(f materials.Flammables) *materialsv1.Flammables {
	out := &materialsv1.Flammables{Place: placeName(f.Place.Word), DisplayName: f.Place.Name, Kind: placeKindOf[f.Place.Kind], FireArea: f.Area, Text: sentence.Text(f.Says()), Said: wire.ToSaids(f.Says())}
	for c, litres := range f.Category {
		if litres.IsPositive() {
			out.Categories = append(out.Categories, &materialsv1.Flammables_Category{Category: int32(c), Quantity: wire.ToQuantity(litres, "L")})
		}
	}
	for _, u := range f.Unknown {
		out.Unknown = append(out.Unknown, &materialsv1.Flammables_Unknown{
			Product: id.Name("products", u.Product), ProductName: u.Name, Quantity: wire.ToQuantity(u.Quantity, u.Unit), Reason: u.NotCounted().Text, Said: wire.ToSaid(u.NotCounted())})
	}
	for _, l := range f.Limits {
		out.Limits = append(out.Limits, &materialsv1.Flammables_Limit{Of: l.Of, Held: wire.ToQuantity(l.Held, "L"), Limit: wire.ToQuantity(l.Limit, "L"),
			Percent: l.Percent(), Over: l.Over(), Source: l.Source, ToDo: l.ToDo()})
	}
	return out
}
