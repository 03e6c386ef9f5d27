package server

import (
	"context"
	"unicode"
	"unicode/utf8"

	"tackfree/pkg/climate"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// GetConditions implements ClimateService.
func (s *Server) GetConditions(ctx context.Context, r *workflowv1.GetConditionsRequest) (*workflowv1.GetConditionsResponse, error) {
	word, err := readZone("zone", r.Zone)
	if err != nil {
		return nil, err
	}
	limits, err := s.limits(ctx, r.Product)
	if err != nil {
		return nil, err
	}
	var zone workflow.Zone
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		zone, err = store.New(q).Zone(ctx, word)
		return err
	})
	if err != nil {
		return nil, err
	}
	if zone.Last == nil {
		return nil, fault.New(fault.Precondition, "NO_READINGS", "Nobody has read the air in %s yet; enter a reading.", zone.DisplayName).At("zone")
	}
	c, err := zone.Last.Conditions(limits, s.Shop.Now().In(s.Shop.Zone))
	if err != nil {
		return nil, err
	}
	return encodeConditions(word, *zone.Last, c), nil
}

// limits asks materials for the limits of a product; no product has the usual ones.
func (s *Server) limits(ctx context.Context, product string) (climate.Limits, error) {
	if product == "" {
		return climate.DefaultLimits, nil
	}
	if _, err := id.One("product", product, "products"); err != nil {
		return climate.Limits{}, err
	}
	told, err := s.Materials.GetProduct(ctx, &materialsv1.GetProductRequest{Name: product})
	if f := fault.Of(err); f != nil && f.Reason == "PRODUCT_NOT_FOUND" {
		return climate.Limits{}, f.At("product")
	}
	if err != nil {
		return climate.Limits{}, err
	}
	return limitsOf(told.Product.GetCoatingSheet()), nil
}

// limitsOf reads the limits off a sheet; one that states none has the usual ones.
func limitsOf(m *typev1.CoatingSheet) climate.Limits {
	if m.GetMinCelsius() == 0 && m.GetMaxCelsius() == 0 && m.GetMaxHumidityPercent() == 0 {
		return climate.DefaultLimits
	}
	return climate.Limits{MinCelsius: m.MinCelsius, MaxCelsius: m.MaxCelsius, MaxHumidity: m.MaxHumidityPercent, Spread: climate.DefaultLimits.Spread}
}

func encodeConditions(word string, r workflow.Reading, c workflow.Conditions) *workflowv1.GetConditionsResponse {
	out := &workflowv1.GetConditionsResponse{Reading: encodeReading(word, r), DewPointCelsius: c.DewPoint, WoodMoisturePercent: c.WoodMoisture,
		VapourPressureDeficitHpa: c.Deficit, FitForCoating: c.Fit()}
	for _, reason := range c.Against() {
		out.Obstacles = append(out.Obstacles, inSentence(reason))
	}
	return out
}

// inSentence begins with a capital and ends with a stop.
func inSentence(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[size:] + "."
}
