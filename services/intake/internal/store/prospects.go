package store

import (
	"context"
	"encoding/json"
	"fmt"
	"math"

	"github.com/shopspring/decimal"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store/storedb"
)

// NumberProspect gives a prospect the next number. Until the transaction ends no other one gets any.
func (s Store) NumberProspect(ctx context.Context, pr *intake.Prospect) (err error) {
	pr.Number, err = s.q.NextProspectNumber(ctx)
	return err
}

// InsertProspect writes a new prospect.
func (s Store) InsertProspect(ctx context.Context, pr intake.Prospect) error {
	row := storedb.InsertProspectParams{ID: pr.ID, Number: pr.Number, State: string(pr.State), SeenAt: pr.SeenAt, Version: pr.Version}
	for _, column := range []struct {
		to   *[]byte
		from any
	}{{&row.Sighting, pr.Sighting}, {&row.Parts, toMeasures(pr.Parts)}, {&row.Advice, pr.Advice}} {
		text, err := json.Marshal(column.from)
		if err != nil {
			return err
		}
		*column.to = text
	}
	return s.q.InsertProspect(ctx, row)
}

// CloseProspect writes what became of a prospect; the piece that it is now must be there.
func (s Store) CloseProspect(ctx context.Context, pr intake.Prospect) error {
	row := storedb.CloseProspectParams{ID: pr.ID, State: string(pr.State), PieceID: orNull(pr.Piece), Version: pr.Version}
	switch pr.State {
	case intake.ProspectBought:
		paid := int64(pr.Paid)
		row.Paid = &paid
	case intake.ProspectDeclined:
		row.DeclineReason = &pr.Reason
	}
	return s.q.CloseProspect(ctx, row)
}

// LockProspect reads a prospect and keeps others from changing it until the transaction ends. The lock
// is a statement before the reading one, which therefore sees what the lock was waited for. Fault:
// PROSPECT_NOT_FOUND.
func (s Store) LockProspect(ctx context.Context, prospect id.ID) (intake.Prospect, error) {
	if err := s.q.LockProspect(ctx, prospect); err != nil {
		return intake.Prospect{}, err
	}
	return s.GetProspect(ctx, prospect)
}

// GetProspect reads a prospect. Fault: PROSPECT_NOT_FOUND.
func (s Store) GetProspect(ctx context.Context, prospect id.ID) (intake.Prospect, error) {
	rows, err := s.q.GetProspect(ctx, prospect)
	if err != nil {
		return intake.Prospect{}, err
	}
	if len(rows) == 0 {
		return intake.Prospect{}, fault.New(fault.NotFound, "PROSPECT_NOT_FOUND", "There is no such prospect; look it up in the list of prospects.").At("prospect")
	}
	return fromProspectRow(rows[0])
}

// ProspectsOf says which prospects are wanted.
type ProspectsOf struct {
	State  intake.ProspectState // "": all
	Before int32                // only of lower numbers; 0: from the latest on
	Limit  int32
}

// ListProspects reads prospects, the latest first.
func (s Store) ListProspects(ctx context.Context, a ProspectsOf) ([]intake.Prospect, error) {
	if a.Before == 0 {
		a.Before = math.MaxInt32
	}
	rows, err := s.q.ListProspects(ctx, storedb.ListProspectsParams{Before: a.Before, State: string(a.State), PageLimit: a.Limit})
	if err != nil {
		return nil, err
	}
	prospects := make([]intake.Prospect, len(rows))
	for i, row := range rows {
		if prospects[i], err = fromProspectRow(storedb.GetProspectRow(row)); err != nil {
			return nil, err
		}
	}
	return prospects, nil
}

func fromProspectRow(row storedb.GetProspectRow) (intake.Prospect, error) {
	p := row.Prospect
	pr := intake.Prospect{ID: p.ID, Number: p.Number, State: intake.ProspectState(p.State), SeenAt: p.SeenAt, Piece: p.PieceID.UUID, PieceTag: row.PieceTag, Version: p.Version}
	if p.Paid != nil {
		pr.Paid = money.Amount(*p.Paid)
	}
	if p.DeclineReason != nil {
		pr.Reason = *p.DeclineReason
	}
	var parts []measures
	for _, column := range []struct {
		from []byte
		to   any
	}{{p.Sighting, &pr.Sighting}, {p.Parts, &parts}, {p.Advice, &pr.Advice}} {
		if err := json.Unmarshal(column.from, column.to); err != nil {
			return pr, fmt.Errorf("prospect %d: %w", p.Number, err)
		}
	}
	var err error
	pr.Parts, err = fromMeasures(parts)
	return pr, err
}

// measures are a part as a prospect has it, which no stage names and so has no id.
type measures struct {
	Label         string          `json:"label"`
	Count         int32           `json:"count"`
	Length        decimal.Decimal `json:"length"`
	LengthUnit    string          `json:"length_unit"`
	Width         decimal.Decimal `json:"width"`
	WidthUnit     string          `json:"width_unit"`
	Thickness     decimal.Decimal `json:"thickness"`
	ThicknessUnit string          `json:"thickness_unit"`
}

func toMeasures(parts []intake.Part) []measures {
	out := make([]measures, len(parts))
	for i, p := range parts {
		out[i] = measures{p.Label, p.Count, p.Length.Value, p.Length.Unit.Symbol, p.Width.Value, p.Width.Unit.Symbol, p.Thickness.Value, p.Thickness.Unit.Symbol}
	}
	return out
}

func fromMeasures(rows []measures) ([]intake.Part, error) {
	out := make([]intake.Part, len(rows))
	for i, m := range rows {
		var err error
		out[i], err = fromPartRow(storedb.Part{Label: m.Label, Count: m.Count, Length: m.Length, LengthUnit: m.LengthUnit,
			Width: m.Width, WidthUnit: m.WidthUnit, Thickness: m.Thickness, ThicknessUnit: m.ThicknessUnit})
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}
