package store

import (
	"context"
	"time"

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

// AddLabour adds to how long stages took here, in time that does not depend on how many.
func (s Store) AddLabour(ctx context.Context, sum workflow.LabourSum) error {
	return s.q.AddLabour(ctx, storedb.AddLabourParams{Kind: sum.Kind, PersonID: sum.Person, N: int32(sum.N), Sum: sum.Sum, Squares: sum.Squares})
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
