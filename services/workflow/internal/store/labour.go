package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store/storedb"
	"tackfree/services/workflow/internal/workflow"
)

// Labour reads how long stages took here, by kind and person.
func (s Store) Labour(ctx context.Context) (*workflow.Labour, error) {
	rows, err := s.q.LabourSums(ctx)
	if err != nil {
		return nil, err
	}
	sums := make([]workflow.LabourSum, len(rows))
	for i, row := range rows {
		sums[i] = workflow.LabourSum{Kind: row.Kind, Person: row.PersonID, N: int(row.N), Sum: row.Sum, Squares: row.Squares}
	}
	return workflow.NewLabour(sums)
}

// Learned reads what was learned of a stage when it was finished: nothing, maybe. It is
// false of a stage that was not, or before that was kept.
func (s Store) Learned(ctx context.Context, stage id.ID) (workflow.LabourSum, bool, error) {
	row, err := s.q.LabourOf(ctx, stage)
	switch {
	case errors.Is(err, pgx.ErrNoRows):
		return workflow.LabourSum{}, false, nil
	case err != nil:
		return workflow.LabourSum{}, false, err
	case !row.PersonID.Valid:
		return workflow.LabourSum{Kind: row.Kind}, true, nil
	}
	return workflow.Observed(row.Kind, row.PersonID.UUID, row.Y), true, nil
}

// Learn adds what a stage took to how long stages take here, in the place of what was
// learned of it before. That takes a time that does not depend on how many there are.
func (s Store) Learn(ctx context.Context, stage id.ID, took workflow.LabourSum) error {
	before, _, err := s.Learned(ctx, stage)
	if err != nil {
		return err
	}
	if err := s.forget(ctx, before); err != nil {
		return err
	}
	if took.N > 0 {
		err := s.q.AddLabour(ctx, storedb.AddLabourParams{Kind: took.Kind, PersonID: took.Person, N: int32(took.N), Sum: took.Sum, Squares: took.Squares})
		if err != nil {
			return err
		}
	}
	return s.q.KeepLabourOf(ctx, storedb.KeepLabourOfParams{StageID: stage, Kind: took.Kind, PersonID: nullable(took.Person), Y: took.Sum})
}

// forget takes an observation out of the sums; of no observation there is nothing in them.
func (s Store) forget(ctx context.Context, o workflow.LabourSum) error {
	if o.N == 0 {
		return nil
	}
	if err := s.q.LockLabour(ctx, storedb.LockLabourParams{Kind: o.Kind, PersonID: o.Person}); err != nil {
		return err
	}
	if err := s.q.DeleteLabour(ctx, storedb.DeleteLabourParams{Kind: o.Kind, PersonID: o.Person}); err != nil { // if it is the last
		return err
	}
	return s.q.TakeLabour(ctx, storedb.TakeLabourParams{Kind: o.Kind, PersonID: o.Person, Sum: o.Sum, Squares: o.Squares})
}

// FirstPassWork reads who worked how long on a stage of a finish plan in its first pass, by
// person. Of a stage of a route nobody did, as far as the labour history goes.
func (s Store) FirstPassWork(ctx context.Context, stage id.ID) ([]workflow.Work, error) {
	rows, err := s.q.FirstPassWork(ctx, stage)
	work := make([]workflow.Work, len(rows))
	for i, row := range rows {
		work[i] = workflow.Work{Person: row.PersonID, Time: time.Duration(row.Seconds * float64(time.Second))}
	}
	return work, err
}

// Names reads people's names; who does not exist has none.
func (s Store) Names(ctx context.Context, people []id.ID) (map[id.ID]string, error) {
	rows, err := s.q.PeopleOf(ctx, notNil(people))
	names := make(map[id.ID]string, len(rows))
	for _, row := range rows {
		names[row.ID] = row.DisplayName
	}
	return names, err
}
