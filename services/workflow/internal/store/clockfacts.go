package store

import (
	"context"
	"fmt"
	"time"

	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// ClockOnFacts locks the person and the piece and reads, in the same round trip, what a
// clock-on is decided from, or with an end the record of an entry. Faults: STAGE_NOT_FOUND,
// PERSON_NOT_FOUND.
func (s Store) ClockOnFacts(ctx context.Context, person, piece, stage id.ID, start, end time.Time) (workflow.Facts, error) {
	if err := s.q.LockPerson(ctx, person); err != nil {
		return workflow.Facts{}, err
	}
	if err := s.q.LockPiece(ctx, piece); err != nil {
		return workflow.Facts{}, err
	}
	row, err := s.q.ClockOnFacts(ctx, storedb.ClockOnFactsParams{Stage: stage, Person: person, Started: start, Ended: orNull(end)})
	switch {
	case err != nil:
		return workflow.Facts{}, err
	case !row.StageID.Valid || row.PieceID.UUID != piece:
		return workflow.Facts{}, errNoStage
	case !row.PersonID.Valid:
		return workflow.Facts{}, errNoPerson
	}
	f, err := fromFacts(row)
	if err != nil {
		return f, err
	}
	return f, s.addInTheWay(ctx, &f, row.OtherID.UUID)
}

// addInTheWay reads what a refusal will say: the name of whom the stage is assigned to, when
// that is somebody else, and the other entry of the person's, when there is one.
func (s Store) addInTheWay(ctx context.Context, f *workflow.Facts, other id.ID) error {
	if a := f.Stage.Assignee; a != id.Nil && a != f.Person.ID {
		assigned, err := s.Person(ctx, a)
		if err != nil {
			return err
		}
		f.Stage.AssignedTo = assigned.Name
	}
	if other == id.Nil {
		return nil
	}
	e, err := s.Entry(ctx, other)
	f.Other = &e
	return err
}

func fromFacts(row storedb.ClockOnFactsRow) (workflow.Facts, error) {
	ground, err := fromGround(row.Tests, row.Wet)
	if err != nil {
		return workflow.Facts{}, err
	}
	coating, err := fromJSON[workflow.Coating](row.Coating)
	if err != nil {
		return workflow.Facts{}, fmt.Errorf("coating of stage %s: %w", row.StageID.UUID, err)
	}
	return workflow.Facts{
		Piece: workflow.Piece{ID: row.PieceID.UUID, Tag: *row.Tag, TakenIn: orZero(row.TakenInAt), Scrapped: *row.Scrapped, ScrappedAt: orZero(row.ScrappedAt), SoldAt: orZero(row.SoldAt), Planned: true,
			Promised: orZero(row.PromisedAt), Value: row.Value, Version: *row.Version},
		Stage: workflow.Stage{ID: row.StageID.UUID, Piece: row.PieceID.UUID, Part: row.PartID.UUID, PartLabel: *row.PartLabel, Key: *row.Key, Kind: *row.Kind,
			Skill: *row.Skill, SkillLevel: *row.SkillLevel, Batch: row.BatchID.UUID, Helpers: unnamed(row.HelperIds), SentBack: row.SendBackTimes, FinishedAt: orZero(row.FinishedAt), Assignee: row.AssigneeID.UUID,
			Finish: workflow.Finish{Needs: finish.Needs(*row.Needs), Cautions: row.Cautions, DisturbsOld: *row.DisturbsOld, Station: *row.Station, Product: row.ProductID.UUID, Zone: row.ZoneID.UUID, Coating: coating}},
		Person: workflow.Person{ID: row.PersonID.UUID, Name: *row.DisplayName, Skills: skills(row.Skills, row.SkillLevels), Stations: row.Stations,
			ActiveFrom: orZero(row.ActiveFrom), ActiveTo: orZero(row.ActiveTo), Version: *row.PersonVersion},
		OpenBefore: row.OpenBefore, Ground: ground, Read: row.HasRead, Away: row.Away,
	}, nil
}

// unnamed are helpers of whom only the ids are needed.
func unnamed(ids []id.ID) []workflow.Helper { return helpers(ids, make([]string, len(ids))) }

// SaveRead keeps what a person has read of a stage's cautions in the pass of their entry.
func (s Store) SaveRead(ctx context.Context, e workflow.Entry, cautions []string, at time.Time) error {
	return s.q.SaveAcknowledgement(ctx, storedb.SaveAcknowledgementParams{StageID: e.Stage, Pass: e.Pass, PersonID: e.Person, Cautions: notNil(cautions), SaidAt: at})
}

// AddRead keeps what a person has read of a stage's cautions beside what they had.
func (s Store) AddRead(ctx context.Context, e workflow.Entry, cautions []string, at time.Time) error {
	return s.q.AddRead(ctx, storedb.AddReadParams{StageID: e.Stage, Pass: e.Pass, PersonID: e.Person, Cautions: notNil(cautions), SaidAt: at})
}
