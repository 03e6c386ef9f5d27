package store

import (
	"context"
	"time"

	"tackfree/pkg/id"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// View is how sheets are looked at: by the shop's clock, and with what of the clocks is put aside.
type View struct {
	Now  time.Time
	Zone *time.Location
	// Clocks is the service that tells of labour; of each event of it that is put aside Hours reads whose it is.
	Clocks string
	Hours  func(event []byte) []costing.Uncertain
}

// before is the first instant of the week that is not over.
func (v View) before() time.Time { return costing.WeekOf(v.Now.In(v.Zone), v.Zone).From }

// In makes a store that says of the sheets it reads in which weeks their overtime is open, as the view has it.
func (s Store) In(v View) Store {
	s.view = &v
	return s
}

// mostAside bounds how many events that are put aside are looked into for a sheet: where more are, the books are so
// far behind that their progress says it.
const mostAside = 1000

// openWeeks reads the weeks whose overtime is open. Where the shop has no pay rule there is none.
func (s Store) openWeeks(ctx context.Context) ([]costing.OpenWeek, error) {
	if s.view == nil {
		return nil, nil
	}
	rules, err := s.q.PayRules(ctx)
	if err != nil || len(rules) == 0 {
		return nil, err
	}
	uncertain, err := s.uncertain(ctx)
	return costing.OpenWeeks(payRules(rules), uncertain, s.view.Now, s.view.Zone), err
}

func (s Store) uncertain(ctx context.Context) (all []costing.Uncertain, err error) {
	rows, err := s.q.UncertainTime(ctx, s.view.before())
	if err != nil {
		return nil, err
	}
	for _, row := range rows {
		all = append(all, costing.Uncertain{Person: row.PersonID, PersonName: row.PersonName, From: row.Since, To: row.Until, Tangled: row.Tangled})
	}
	events, err := s.q.PutAsideOf(ctx, storedb.PutAsideOfParams{Producer: s.view.Clocks, Most: mostAside})
	for _, event := range events {
		all = append(all, s.view.Hours(event)...)
	}
	return all, err
}

// addWeeks adds to sheets the open weeks in which their pieces have hours.
func (s Store) addWeeks(ctx context.Context, ids []id.ID, at map[id.ID]*costing.Sheet) error {
	weeks, err := s.openWeeks(ctx)
	if err != nil || len(weeks) == 0 || len(ids) == 0 {
		return err
	}
	p := storedb.HoursWithinParams{Pieces: ids}
	for i, w := range weeks {
		if w.Person == id.Nil {
			p.Everybody, p.FromTime, p.ToTime = int32(i), w.From, w.To
			continue
		}
		p.Places, p.People, p.Begins, p.Ends = append(p.Places, int32(i)), append(p.People, w.Person), append(p.Begins, w.From), append(p.Ends, w.To)
	}
	rows, err := s.q.HoursWithin(ctx, p)
	for _, row := range rows {
		at[row.PieceID].Weeks = append(at[row.PieceID].Weeks, weeks[row.Place])
	}
	return err
}

// within reads the pieces that may have hours in open weeks.
func (s Store) within(ctx context.Context) ([]id.ID, error) {
	weeks, err := s.openWeeks(ctx)
	if err != nil || len(weeks) == 0 {
		return nil, err
	}
	var p storedb.PiecesWithinParams
	for _, w := range weeks {
		p.People, p.Begins, p.Ends = append(p.People, w.Person), append(p.Begins, w.From), append(p.Ends, w.To)
	}
	return s.q.PiecesWithin(ctx, p)
}

// saveTangled writes which of the weeks that were settled contradict themselves.
func (s Store) saveTangled(ctx context.Context, b *costing.Book) error {
	if len(b.Tangled) == 0 {
		return nil
	}
	var p storedb.SaveTangledWeeksParams
	for week, since := range b.Tangled {
		p.PersonID, p.Week, p.Since = append(p.PersonID, week.Person), append(p.Week, week.Monday), append(p.Since, since)
	}
	return s.q.SaveTangledWeeks(ctx, p)
}
