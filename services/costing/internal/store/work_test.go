package store_test

import (
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/services/costing/internal/costing"
	"tackfree/services/costing/internal/store"
)

// Each person's labour on a stage is one row, its rework another: the time from the
// stretches, the cost from the ledger. The rows come by name, and none strays to another
// piece.
func TestStore_Work(t *testing.T) {
	db, piece, other := setup(t), id.New(), id.New()
	nell, ana := hand(t, db, "Nell", 18_00), hand(t, db, "Ana", 24_00)
	anew, fill := nell.on(piece, 20*time.Minute), nell.on(piece, 10*time.Minute)
	anew.Rework = true
	fill.Stage, fill.StageKind, fill.StageKey, fill.PartLabel = id.New(), "fill", "fill", ""
	save(t, db, func(b *costing.Book) {
		for _, s := range []costing.Stretch{nell.on(piece, 90*time.Minute), nell.on(piece, 25*time.Minute), anew, fill, nell.on(other, time.Hour)} {
			b.Work(s, nell.terms)
		}
		b.Work(ana.on(piece, 1*time.Millisecond), ana.terms)
		b.Work(ana.on(piece, time.Hour), ana.terms)
		b.Issue(fact(piece), 5_00, "sand", false) // material is nobody's labour
		b.Issue(fact(piece), 7_00, "sand", true)
		b.Sell(fact(piece), 90_00, 0, 0)
	})
	want := []costing.Work{
		ana.worked(time.Hour+time.Millisecond, 24_00),
		{Person: nell.id, PersonName: "Nell", Stage: fill.Stage, StageKind: "fill", StageKey: "fill", Time: 10 * time.Minute, Cost: 18_00 * 10 / 60},
		nell.worked((90+25)*time.Minute, 18_00*(90+25)/60),
		again(nell.worked(20*time.Minute, 18_00*20/60)),
	}
	same(t, "work", want, sheet(t, db, piece).Work)
	elsewhere := []costing.Work{nell.worked(time.Hour, 18_00)}
	same(t, "work on the other piece", elsewhere, sheet(t, db, other).Work)
	for _, s := range list(t, db, store.Mark{}, 10) {
		same(t, "work in the list", sheet(t, db, s.Piece).Work, s.Work)
	}
}

// Two stages of one kind are two rows, each with the cost of its own, also where a rate that
// came later adjusts it.
func TestStore_Work_StagesOfOneKind(t *testing.T) {
	db, piece := setup(t), id.New()
	nell := hand(t, db, "Nell", 18_00)
	seat, back := nell.on(piece, time.Hour), nell.on(piece, 30*time.Minute)
	back.Stage, back.PartLabel = id.New(), "back"
	save(t, db, func(b *costing.Book) {
		b.Work(seat, nell.terms)
		b.Work(back, nell.terms)
	})
	raised := costing.NewTerms([]costing.Rate{nell.rates[nell.id][0], {Person: nell.id, From: day(1), PerHour: 24_00, RecordedAt: noon.Add(time.Hour)}}, nil, nil)
	save(t, db, func(b *costing.Book) {
		raise, _ := back.Adjustment(b.Rules(), raised, 1)
		b.Post(raise)
	})
	ofBack := nell.worked(30*time.Minute, 12_00)
	ofBack.Stage, ofBack.PartLabel = back.Stage, "back"
	same(t, "work", []costing.Work{ofBack, nell.worked(time.Hour, 18_00)}, sheet(t, db, piece).Work)
}

// Events from before a stage's key was told, and after, are of one stage; its key and part
// are said of all that the person did on it.
func TestStore_Work_KeyToldLater(t *testing.T) {
	db, piece := setup(t), id.New()
	nell := hand(t, db, "Nell", 18_00)
	old := nell.on(piece, time.Hour)
	old.StageKey, old.PartLabel = "", ""
	save(t, db, func(b *costing.Book) { b.Work(old, nell.terms) })
	unnamed := nell.worked(time.Hour, 18_00)
	unnamed.StageKey, unnamed.PartLabel = "", ""
	same(t, "work of old events", []costing.Work{unnamed}, sheet(t, db, piece).Work)
	save(t, db, func(b *costing.Book) { b.Work(nell.on(piece, time.Hour), nell.terms) })
	same(t, "work", []costing.Work{nell.worked(2*time.Hour, 36_00)}, sheet(t, db, piece).Work)
}

// Two people of one name are two people.
func TestStore_Work_Namesakes(t *testing.T) {
	db, piece := setup(t), id.New()
	first, second := hand(t, db, "Nell", 18_00), hand(t, db, "Nell", 24_00)
	save(t, db, func(b *costing.Book) {
		b.Work(second.on(piece, time.Hour), second.terms)
		b.Work(first.on(piece, time.Hour), first.terms)
	})
	want := []costing.Work{
		first.worked(time.Hour, 18_00),
		second.worked(time.Hour, 24_00),
	}
	same(t, "work", want, sheet(t, db, piece).Work)
}

// A person who got another name is one person still.
func TestStore_Work_Renamed(t *testing.T) {
	db, piece := setup(t), id.New()
	nell := hand(t, db, "Nell", 18_00)
	renamed := nell
	renamed.name = "Nell Quist"
	save(t, db, func(b *costing.Book) {
		b.Work(nell.on(piece, time.Hour), nell.terms)
		b.Work(renamed.on(piece, time.Hour), nell.terms)
	})
	got := sheet(t, db, piece).Work
	if len(got) != 1 || got[0].Time != 2*time.Hour || got[0].Cost != 2*18_00 {
		t.Errorf("work = %+v, want one person's two hours", got)
	}
}

// A stretch that was taken away leaves no row, and what a correction leaves is what it
// added.
func TestStore_Work_TakenAway(t *testing.T) {
	db, piece := setup(t), id.New()
	nell := hand(t, db, "Nell", 18_00)
	wrong := nell.on(piece, 8*time.Hour)
	save(t, db, func(b *costing.Book) { b.Work(wrong, nell.terms) })
	save(t, db, func(b *costing.Book) { b.Work(away(wrong), nell.terms) })
	if got := sheet(t, db, piece); got.Work != nil || got.Sums != (costing.Sums{}) {
		t.Errorf("sheet = %+v, want nothing of what was taken away", got)
	}
	save(t, db, func(b *costing.Book) { b.Work(nell.on(piece, time.Hour), nell.terms) })
	want := []costing.Work{nell.worked(time.Hour, 18_00)}
	same(t, "work", want, sheet(t, db, piece).Work)
}

// Labour that costs nothing, for a rate of zero or for want of one, is time all the same;
// and what was taken away at another rate than it came at leaves its difference to be seen.
func TestStore_Work_TimeOrCostAlone(t *testing.T) {
	db, piece := setup(t), id.New()
	free, unknown, dearer := hand(t, db, "Ana", 0), hand(t, db, "Bo", -1), hand(t, db, "Cleo", 18_00)
	raised := costing.NewTerms([]costing.Rate{{Person: dearer.id, From: day(1), PerHour: 24_00, RecordedAt: longAgo}}, nil, nil)
	stretch := dearer.on(piece, time.Hour)
	save(t, db, func(b *costing.Book) {
		b.Work(free.on(piece, time.Hour), free.terms)
		b.Work(unknown.on(piece, time.Minute), unknown.terms)
		b.Work(stretch, dearer.terms)
		b.Work(away(stretch), raised)
	})
	got := sheet(t, db, piece)
	same(t, "work", []costing.Work{
		free.worked(time.Hour, 0),
		unknown.worked(time.Minute, 0),
		dearer.worked(0, 18_00-24_00),
	}, got.Work)
	if got.Labour != 18_00-24_00 || got.LabourTime != time.Hour+time.Minute {
		t.Errorf("sheet = %+v", got)
	}
}
