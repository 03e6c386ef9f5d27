package workflow_test

import (
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// A batch may be written down after the work, and is then finished as soon as it was formed.
func TestBatch_EndsNotBeforeItWasFormed(t *testing.T) {
	sooner := nine.Add(-time.Hour)
	for name, end := range map[string]func(*workflow.Batch) error{
		"Finished": func(b *workflow.Batch) error { return b.Finish(sooner) },
		"LastLeft": func(b *workflow.Batch) error {
			b.Leave(b.Shares[0].Stage, sooner)
			b.Leave(b.Shares[1].Stage, sooner)
			return nil
		},
	} {
		t.Run(name, func(t *testing.T) {
			b := formed(t, "", members(drawers(7, id.New(), 0.3, 0.2)))
			if err := end(&b); err != nil || !b.EndedAt.Equal(b.FormedAt) {
				t.Errorf("it was formed at %v and ended at %v, %v", b.FormedAt, b.EndedAt, err)
			}
		})
	}
}

// Work that ended before a stage left was done on it too.
func TestBatch_Until(t *testing.T) {
	b := formed(t, "", members(drawers(7, id.New(), 0.3, 0.2)))
	b.Leave(b.Shares[0].Stage, nine.Add(time.Hour))
	for minutes, want := range map[time.Duration]int{30: 2, 60: 2, 61: 1} {
		if got := len(b.Until(nine.Add(minutes * time.Minute))); got != want {
			t.Errorf("%d stages were in it until minute %d, want %d", got, minutes, want)
		}
	}
}

// One is taken out of a batch that goes on with the others; with the last one it is dissolved.
func TestBatch_TakeOut(t *testing.T) {
	p := drawers(7, id.New(), 0.3, 0.2)
	b := formed(t, "", members(p))
	refusedWords(t, b.TakeOut(p.Stages[0], []string{"Ira"}, nine), "STAGE_HAS_OPEN_CLOCK", "topcoat (a)", "Ira", `"fronts"`)
	if len(b.In()) != 2 || b.Version != 1 {
		t.Errorf("a refused TakeOut left %+v", b)
	}
	if err := b.TakeOut(p.Stages[0], nil, nine); err != nil || len(b.In()) != 1 || b.State != workflow.BatchOpen || b.Version != 2 {
		t.Errorf("TakeOut = %v, %+v", err, b)
	}
	if err := b.TakeOut(p.Stages[1], nil, nine); err != nil || b.State != workflow.BatchDissolved || b.Version != 3 {
		t.Errorf("TakeOut of the last one = %v, %+v", err, b)
	}
	refusedWords(t, workflow.Stage{Key: "sand"}.InBatch(), "STAGE_NOT_IN_BATCH", "sand")
}

// What was scrapped leaves the batch, which goes on with what is left.
func TestBatch_DropScrapped(t *testing.T) {
	whole, split := drawers(7, id.New(), 0.3), drawers(8, id.New(), 0.2, 0.1)
	split.Stages[0].Product, split.Stages[1].Product = whole.Stages[0].Product, whole.Stages[0].Product
	b := formed(t, "", members(whole, split))
	pieces := map[id.ID]workflow.Piece{whole.Piece.ID: whole.Piece, split.Piece.ID: split.Piece}
	if gone, err := b.DropScrapped(pieces, nine); err != nil || len(gone) != 0 {
		t.Errorf("with nothing scrapped: %v, %v", gone, err)
	}
	split.Piece.Scrapped = true
	pieces[split.Piece.ID] = split.Piece
	gone, err := b.DropScrapped(pieces, nine)
	if err != nil || len(gone) != 2 || gone[0].Tag != 8 || !b.Share(gone[0].Stage).Left.Equal(nine) || len(b.In()) != 1 || b.In()[0].Tag != 7 {
		t.Errorf("DropScrapped = %v, %v of %+v", gone, err, b)
	}
	whole.Piece.Scrapped = true
	pieces[whole.Piece.ID] = whole.Piece
	_, err = b.DropScrapped(pieces, nine)
	refusedWords(t, err, "BATCH_NOT_OPEN", "all pieces in it were scrapped")
	if len(b.In()) != 1 || b.State != workflow.BatchOpen {
		t.Errorf("a refused DropScrapped left %+v", b)
	}
}
