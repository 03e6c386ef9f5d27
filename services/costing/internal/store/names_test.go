package store_test

import (
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// named keeps what workflow said that a person is called.
func named(t *testing.T, db *pg.DB, person id.ID, name string, version int64) {
	t.Helper()
	save(t, db, func(b *costing.Book) { b.Name(costing.Person{ID: person, Name: name, Version: version}) })
}

// callings are what a sheet calls the people whose work lacks a rate, and those who worked.
func callings(s costing.Sheet) (names []string) {
	for _, w := range s.Work {
		names = append(names, w.PersonName)
	}
	for _, u := range s.Unrated {
		names = append(names, u.PersonName)
	}
	return names
}

// Somebody is called what workflow last said, whatever they were called when they worked;
// and if workflow said nothing yet, what they were when they last worked.
func TestStore_NamePeople(t *testing.T) {
	type word struct {
		name    string
		version int64
	}
	for name, c := range map[string]struct {
		words []word
		want  string
	}{
		"NothingSaid":     {nil, "Nell"},
		"Added":           {[]word{{"Nell", 1}}, "Nell"},
		"ChangedSince":    {[]word{{"Nell", 1}, {"Ada Quist", 2}}, "Ada Quist"},
		"FirstWordIsLate": {[]word{{"Ada Quist", 2}}, "Ada Quist"},
		"OlderWordLast":   {[]word{{"Ada Quist", 2}, {"Nell", 1}}, "Ada Quist"},
		"SameWordAgain":   {[]word{{"Ada Quist", 2}, {"Bo", 2}}, "Ada Quist"},
	} {
		t.Run(name, func(t *testing.T) {
			db, piece := setup(t), id.New()
			nell := hand(t, db, "Nell", -1)
			save(t, db, func(b *costing.Book) { b.Work(nell.on(piece, time.Hour), costing.NewTerms(nil, nil, nil)) })
			named(t, db, id.New(), "Cleo", 9)
			for _, w := range c.words {
				named(t, db, nell.id, w.name, w.version)
			}
			want := []string{c.want, c.want}
			same(t, "names", want, callings(sheet(t, db, piece)))
			same(t, "names in the list", want, callings(list(t, db, store.Mark{}, 10)[0]))
		})
	}
}

// A book may name many people, and one of them more than once.
func TestStore_NamePeople_ManyAtOnce(t *testing.T) {
	db, piece := setup(t), id.New()
	nell, ana := hand(t, db, "Nell", 1), hand(t, db, "Ana", 1)
	save(t, db, func(b *costing.Book) {
		b.Name(costing.Person{ID: nell.id, Name: "Nell Q", Version: 1})
		b.Name(costing.Person{ID: ana.id, Name: "Ana B", Version: 1})
		b.Name(costing.Person{ID: nell.id, Name: "Nell Quist", Version: 2})
		b.Work(nell.on(piece, time.Hour), nell.terms)
		b.Work(ana.on(piece, time.Hour), ana.terms)
	})
	same(t, "names", []string{"Ana B", "Nell Quist"}, callings(sheet(t, db, piece)))
}
