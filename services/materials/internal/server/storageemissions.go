package server

import (
	"context"
	"fmt"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// GetEmissions implements StorageService.
func (s *Server) GetEmissions(ctx context.Context, r *materialsv1.GetEmissionsRequest) (*materialsv1.GetEmissionsResponse, error) {
	emissions, err := s.emissions(ctx, r.Year, r.Month)
	if err != nil {
		return nil, err
	}
	sum := materials.SumEmissions(emissions)
	out := &materialsv1.GetEmissionsResponse{Year: r.Year, Month: r.Month, Caution: materials.EmissionCaution,
		CoatingGrams: sum.Coatings, SolventGrams: sum.Solvents, MissingGrams: sum.Missing, TotalGrams: sum.Total(), Incomplete: sum.Incomplete, Text: sum.Text()}
	for _, e := range emissions {
		line := encodeEmission(e)
		switch {
		case e.Missing:
			out.Missing = append(out.Missing, line)
		case !e.Known:
			out.Unknown = append(out.Unknown, line)
		case e.Solvent:
			out.Solvents = append(out.Solvents, line)
		default:
			out.Coatings = append(out.Coatings, line)
		}
	}
	return out, nil
}

func (s *Server) emissions(ctx context.Context, year, month int32) ([]materials.Emission, error) {
	from, to, err := materials.Month(year, month, s.Shop.Zone)
	if err != nil {
		return nil, err
	}
	var used []materials.Used
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		used, err = store.New(q).Used(ctx, from, to)
		return err
	})
	if err != nil {
		return nil, err
	}
	return materials.Emissions(used)
}

func encodeEmission(e materials.Emission) *materialsv1.EmissionLine {
	out := &materialsv1.EmissionLine{Product: id.Name("products", e.Product), ProductName: e.ProductName, Used: wire.ToQuantity(e.Quantity, e.Unit)}
	if e.Known {
		out.VocGramsPerLitre, out.Grams = &e.VOC, &e.Grams
	}
	return out
}

// ExportEmissions implements StorageService.
func (s *Server) ExportEmissions(ctx context.Context, r *materialsv1.ExportEmissionsRequest) (*materialsv1.ExportEmissionsResponse, error) {
	emissions, err := s.emissions(ctx, r.Year, r.Month)
	if err != nil {
		return nil, err
	}
	month := fmt.Sprintf("%d-%02d", r.Year, r.Month)
	return &materialsv1.ExportEmissionsResponse{Csv: materials.EmissionTable(month, emissions)}, nil
}
