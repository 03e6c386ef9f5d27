package store

import (
	"context"
	"time"

	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store/storedb"
)

// Save writes a book, each kind of row in one statement; many lines and stretches are copied.
func (s Store) Save(ctx context.Context, b *costing.Book, now time.Time) error {
	if err := s.savePostings(ctx, b.Transactions); err != nil {
		return err
	}
	if err := s.saveStretches(ctx, b.Stretches); err != nil {
		return err
	}
	for _, m := range b.Marks {
		err := s.q.InsertMark(ctx, storedb.InsertMarkParams{EventID: m.ID, PieceID: m.Piece, Kind: string(m.Kind), OccurredAt: m.OccurredAt, RecordedAt: m.RecordedAt})
		if err != nil {
			return err
		}
	}
	for _, save := range []func(context.Context, *costing.Book) error{s.saveClocks, s.saveOutside, s.saveReviews, s.saveTangled, s.saveStages, s.saveSentBack, s.saveComebacks, s.saveLots, s.saveReasons} {
		if err := save(ctx, b); err != nil {
			return err
		}
	}
	if len(b.Names) > 0 {
		if err := s.q.NamePeople(ctx, toNames(b)); err != nil {
			return err
		}
	}
	if len(b.Changes) > 0 {
		return s.q.AddToPieces(ctx, toChanges(b, now))
	}
	return nil
}

// saveClocks writes which clocks began and which ended.
func (s Store) saveClocks(ctx context.Context, b *costing.Book) error {
	if len(b.Ended) > 0 {
		if err := s.q.EndClocks(ctx, b.Ended); err != nil {
			return err
		}
	}
	if len(b.Clocks) == 0 {
		return nil
	}
	var p storedb.BeginClocksParams
	for _, c := range b.Running() {
		p.EntryID = append(p.EntryID, c.Entry)
		p.PieceID = append(p.PieceID, c.Piece)
		p.PersonID = append(p.PersonID, c.Person)
		p.PersonName = append(p.PersonName, c.PersonName)
		p.StartedAt = append(p.StartedAt, c.Start)
	}
	return s.q.BeginClocks(ctx, p)
}

func toPostings(transactions []costing.Transaction) (p storedb.InsertPostingsParams) {
	for _, t := range transactions {
		for i, l := range t.Lines {
			p.TxID = append(p.TxID, t.ID)
			p.Line = append(p.Line, int16(i+1))
			p.EventID = append(p.EventID, t.Event)
			p.GroupKind = append(p.GroupKind, string(t.Group.Kind))
			p.GroupID = append(p.GroupID, t.Group.ID)
			p.Account = append(p.Account, string(l.Account))
			p.Bucket = append(p.Bucket, string(l.Bucket))
			p.PieceID = append(p.PieceID, l.Piece)
			p.PersonID = append(p.PersonID, l.Person)
			p.StageID = append(p.StageID, l.Stage)
			p.StageKind = append(p.StageKind, l.StageKind)
			p.Again = append(p.Again, l.Again)
			p.Amount = append(p.Amount, int64(l.Amount))
			p.OccurredAt = append(p.OccurredAt, t.OccurredAt)
			p.RecordedAt = append(p.RecordedAt, t.RecordedAt)
		}
	}
	return p
}

func toStretches(stretches []costing.Stretch) (p storedb.InsertStretchesParams) {
	for _, s := range stretches {
		p.EventID = append(p.EventID, s.ID)
		p.Sign = append(p.Sign, int16(s.Sign))
		p.EntryID = append(p.EntryID, s.Entry)
		p.PieceID = append(p.PieceID, s.Piece)
		p.PersonID = append(p.PersonID, s.Person)
		p.PersonName = append(p.PersonName, s.PersonName)
		p.StageID = append(p.StageID, s.Stage)
		p.StageKind = append(p.StageKind, s.StageKind)
		p.StageKey = append(p.StageKey, s.StageKey)
		p.PartLabel = append(p.PartLabel, s.PartLabel)
		p.Rework = append(p.Rework, s.Rework)
		p.StartedAt = append(p.StartedAt, s.Start)
		p.EndedAt = append(p.EndedAt, s.End)
		p.OccurredAt = append(p.OccurredAt, s.OccurredAt)
		p.RecordedAt = append(p.RecordedAt, s.RecordedAt)
		p.Indirect = append(p.Indirect, s.Indirect)
		p.WholeFrom = append(p.WholeFrom, s.Begin())
		p.Paused = append(p.Paused, s.Paused)
	}
	return p
}

func toNames(b *costing.Book) (p storedb.NamePeopleParams) {
	for _, person := range b.People() {
		n := b.Names[person]
		p.PersonID, p.Name, p.Version = append(p.PersonID, n.ID), append(p.Name, n.Name), append(p.Version, n.Version)
	}
	return p
}

func toChanges(b *costing.Book, now time.Time) storedb.AddToPiecesParams {
	p := storedb.AddToPiecesParams{Now: now}
	for _, piece := range b.Pieces() {
		c := b.Changes[piece]
		p.PieceID = append(p.PieceID, piece)
		o := orZero(c.Origin)
		p.Tag = append(p.Tag, o.Tag)
		p.Title = append(p.Title, o.Title)
		p.Commission = append(p.Commission, o.Commission)
		p.Kind = append(p.Kind, o.Kind)
		p.Source = append(p.Source, o.Source)
		p.CameAt = append(p.CameAt, o.CameAt)
		p.Channel = append(p.Channel, orZero(c.Channel))
		p.SoldAt = append(p.SoldAt, orZero(c.SoldAt))
		p.Finish = append(p.Finish, orZero(c.Finish))
		p.SalesState = append(p.SalesState, string(orZero(c.Sales)))
		p.Scrapped = append(p.Scrapped, c.Scrapped)
		p.Acquisition = append(p.Acquisition, int64(c.Acquisition))
		p.Labour = append(p.Labour, int64(c.Labour))
		p.Premium = append(p.Premium, int64(c.Premium))
		p.Burden = append(p.Burden, int64(c.Burden))
		p.Overhead = append(p.Overhead, int64(c.Overhead))
		p.Material = append(p.Material, int64(c.Material))
		p.Rework = append(p.Rework, int64(c.Rework))
		p.Fees = append(p.Fees, int64(c.Fees))
		p.Revenue = append(p.Revenue, int64(c.Revenue))
		p.Tax = append(p.Tax, int64(c.Tax))
		p.LabourMs = append(p.LabourMs, c.LabourTime.Milliseconds())
		p.ReworkMs = append(p.ReworkMs, c.ReworkTime.Milliseconds())
		p.Running = append(p.Running, c.Running)
		p.Outside = append(p.Outside, int64(c.Outside))
	}
	return p
}

// orZero gives the value behind a pointer, or the zero value.
func orZero[T any](p *T) (v T) {
	if p != nil {
		v = *p
	}
	return v
}
