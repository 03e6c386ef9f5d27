package store

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"tackfree/pkg/drying"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// SaveDryClock writes a clock; of one that is there, all but what it began with. The clock
// of an earlier pass must be gone before.
func (s Store) SaveDryClock(ctx context.Context, c workflow.DryClock, now time.Time) error {
	windows, err := json.Marshal(byName(c.Windows))
	if err != nil {
		return err
	}
	felt, err := json.Marshal(byName(c.Felt))
	if err != nil {
		return err
	}
	row := storedb.SaveDryClockParams{StageID: c.Stage, Pass: c.Pass, PieceID: c.Piece, PartID: nullable(c.Part), Kind: string(c.Kind), ProductID: nullable(c.Product),
		LaidAt: c.Laid, FilmUm: c.FilmUm, Minutes: minutes(c.Planned), Needs: string(c.Needs), Recoats: c.Recoats, Seen: c.Seen, Learned: int32(c.Learned), Windows: windows, Felt: felt,
		SandAt: reaches(c, finish.NeedsSand), RecoatAt: reaches(c, finish.NeedsRecoat), CuredAt: reaches(c, finish.NeedsCured), ClosesAt: orNull(c.Closes()),
		SaidAt: orNull(c.Said), SaidCloses: orNull(c.SaidCloses), ReadySaid: c.ReadySaid, SaidNeeds: string(c.SaidNeeds), CloseSaid: c.CloseSaid, Ended: c.Ended(now)}
	if !row.Ended {
		row.DueAt = orNull(c.Due())
	}
	for _, stay := range c.Stays {
		row.ZoneIds, row.ZoneFrom, row.ZoneID = append(row.ZoneIds, stay.Zone), append(row.ZoneFrom, stay.From), nullable(stay.Zone)
	}
	return s.q.SaveDryClock(ctx, row)
}

func reaches(c workflow.DryClock, n finish.Needs) *time.Time { return orNull(c.Reaches(n).Likely) }

// EndDryClocks forgets the clocks of stages.
func (s Store) EndDryClocks(ctx context.Context, stages []id.ID) error {
	return s.q.DeleteDryClocks(ctx, stages)
}

// DryClocksOf reads a piece's clocks, by when they began.
func (s Store) DryClocksOf(ctx context.Context, piece id.ID) ([]workflow.DryClock, error) {
	rows, err := s.q.DryClocksOf(ctx, piece)
	if err != nil {
		return nil, err
	}
	return fromClocks(rows)
}

// DryClocks reads the clocks that have not ended, of a zone or, with id.Nil, of all, by when
// they began.
func (s Store) DryClocks(ctx context.Context, zone id.ID) ([]workflow.DryClock, error) {
	found, err := s.q.DryClocks(ctx, nullable(zone))
	if err != nil {
		return nil, err
	}
	rows := make([]storedb.DryClocksOfRow, len(found))
	for i, row := range found {
		rows[i] = storedb.DryClocksOfRow(row)
	}
	return fromClocks(rows)
}

// PiecesToCompute are the pieces of which a clock is to be computed anew or has something to
// say by now, those in which something dries first.
func (s Store) PiecesToCompute(ctx context.Context, now time.Time) ([]id.ID, error) {
	return s.q.PiecesToCompute(ctx, storedb.PiecesToComputeParams{Now: &now, Reopens: now.Add(-workflow.Reopens), Together: now.Add(-together)})
}

// FirstLaid is when the first of the clocks that have not ended began.
func (s Store) FirstLaid(ctx context.Context) (time.Time, error) { return s.q.FirstLaid(ctx) }

// Overtaken are the clocks of a piece, by their stages, over which work has gone on.
func (s Store) Overtaken(ctx context.Context, piece id.ID) (map[id.ID]bool, error) {
	rows, err := s.q.Overtaken(ctx, piece)
	overtaken := make(map[id.ID]bool, len(rows))
	for _, stage := range rows {
		overtaken[stage] = true
	}
	return overtaken, err
}

func fromClocks(rows []storedb.DryClocksOfRow) ([]workflow.DryClock, error) {
	var out []workflow.DryClock
	for _, row := range rows {
		c, err := fromClock(row)
		if err != nil {
			return nil, fmt.Errorf("dry clock of stage %s: %w", row.StageID, err)
		}
		out = append(out, c)
	}
	return out, nil
}

func fromClock(row storedb.DryClocksOfRow) (workflow.DryClock, error) {
	c := workflow.DryClock{Stage: row.StageID, Pass: row.Pass, Piece: row.PieceID, Part: row.PartID.UUID, Kind: workflow.DryKind(row.Kind), Laid: row.LaidAt,
		FilmUm: row.FilmUm, Planned: time.Duration(row.Minutes) * time.Minute, Product: row.ProductID.UUID, Needs: finish.Needs(row.Needs), Recoats: row.Recoats,
		Seen: row.Seen, Lessons: int(row.Lessons), Learned: int(row.Learned), Said: orZero(row.SaidAt), SaidCloses: orZero(row.SaidCloses),
		ReadySaid: row.ReadySaid, SaidNeeds: finish.Needs(row.SaidNeeds), CloseSaid: row.CloseSaid, Over: row.Ended,
		StageTitle: workflow.Stage{Key: row.Key, PartLabel: row.PartLabel}.Title(), StageKind: row.StageKind, PartLabel: row.PartLabel, PieceTag: row.Tag, ZoneWord: row.ZoneWord}
	for i, zone := range row.ZoneIds {
		c.Stays = append(c.Stays, workflow.Stay{Zone: zone, From: row.ZoneFrom[i]})
	}
	if err := readDries(&c, row); err != nil {
		return c, err
	}
	windows, err := fromNames[drying.Window](row.Windows)
	if err != nil {
		return c, err
	}
	felt, err := fromNames[workflow.Felt](row.Felt)
	c.Windows, c.Felt = windows, felt
	return c, err
}

// readDries reads how it dries: a film by its coating and what was learned of its product.
func readDries(c *workflow.DryClock, row storedb.DryClocksOfRow) error {
	if c.Kind == workflow.WoodDries {
		c.Dries = workflow.Wood(c.Planned)
	}
	if c.Kind != workflow.FilmDries {
		return nil
	}
	c.ProductName = row.ProductName
	coating, err := fromJSON[workflow.Coating](row.Coating)
	if err != nil || coating == nil {
		return err
	}
	c.Dries = coating.Dries
	if row.Outcomes > 0 {
		c.Dries.Factor = drying.Factor{LogMean: row.LogMean, LogStdDev: row.LogStdDev, Outcomes: int(row.Outcomes)}
	}
	return nil
}

// byName keeps milestones by their names, which stay when others join them.
func byName[T any](m map[drying.Milestone]T) map[string]T {
	out := make(map[string]T, len(m))
	for milestone, v := range m {
		out[milestone.String()] = v
	}
	return out
}

func fromNames[T any](b []byte) (map[drying.Milestone]T, error) {
	var named map[string]T
	if err := json.Unmarshal(b, &named); err != nil {
		return nil, err
	}
	out := make(map[drying.Milestone]T, len(named))
	for m := drying.SetToTouch; m <= drying.Cured; m++ {
		if v, there := named[m.String()]; there {
			out[m] = v
		}
	}
	return out, nil
}
