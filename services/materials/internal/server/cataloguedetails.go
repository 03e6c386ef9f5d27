package server

import (
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/materials/internal/materials"
)

// mostMinutes is more than any product keeps, and few enough for a Duration.
const mostMinutes = 100_000_000

// decodeDetails reads absent details as none. Fault: DATE_MALFORMED.
func decodeDetails(m *typev1.ProductDetails) (d materials.Details, err error) {
	if m == nil {
		return d, nil
	}
	d = materials.Details{
		Category: strings.ToLower(wire.Name(m.Category)), Density: m.DensityGramsPerMl, FlashCelsius: m.FlashPointCelsius, BoilingCelsius: m.BoilingPointCelsius, VOC: m.VocGramsPerLitre,
		ClosedDays: m.KeepsClosedDays, OpenDays: m.KeepsOpenDays, PotLife: time.Duration(min(m.PotLifeMinutes, mostMinutes)) * time.Minute,
		Colour: wire.Name(m.Colour), Sheen: wire.Name(m.Sheen), Maker: wire.Name(m.Maker), Article: wire.Name(m.Article), M2PerLitre: m.SquareMetresPerLitre,
		Hazards: wire.Name(m.Hazards), Ingredients: wire.Name(m.Ingredients), SafetySheet: wire.Name(m.SafetySheet), Cautions: m.Cautions, Note: wire.Name(m.Note),
	}
	if d.SafetySheetDate, err = wire.Day("safety_sheet_date", m.SafetySheetDate); err != nil {
		return d, fault.Of(err).At("details.safety_sheet_date")
	}
	return d, nil
}

// encodeDetails writes no details as absent ones.
func encodeDetails(d materials.Details) *typev1.ProductDetails {
	if d.Empty() {
		return nil
	}
	m := &typev1.ProductDetails{
		Category: d.Category, DensityGramsPerMl: d.Density, FlashPointCelsius: d.FlashCelsius, BoilingPointCelsius: d.BoilingCelsius, VocGramsPerLitre: d.VOC,
		KeepsClosedDays: d.ClosedDays, KeepsOpenDays: d.OpenDays, PotLifeMinutes: int32(d.PotLife / time.Minute),
		Colour: d.Colour, Sheen: d.Sheen, Maker: d.Maker, Article: d.Article, SquareMetresPerLitre: d.M2PerLitre,
		Hazards: d.Hazards, Ingredients: d.Ingredients, SafetySheet: d.SafetySheet, Cautions: d.Cautions, Note: d.Note,
	}
	if !d.SafetySheetDate.IsZero() {
		m.SafetySheetDate = wire.ToDay(d.SafetySheetDate)
	}
	return m
}

func describedOf(p materials.Product) *eventsv1.ProductDescribed {
	e := &eventsv1.ProductDescribed{ProductId: p.ID.String(), ProductName: p.Name, Details: encodeDetails(p.Details)}
	for _, pack := range p.Packages {
		e.Packages = append(e.Packages, &eventsv1.ProductDescribed_Package{Label: pack.Label, Content: amountOf(p, pack.Content)})
	}
	return e
}
