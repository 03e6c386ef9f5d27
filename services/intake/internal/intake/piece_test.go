package intake_test

import (
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/services/intake/internal/intake"
)

var monday = time.Date(2026, 3, 2, 14, 0, 30, 0, time.UTC)

// day is a day of that March; 2 is the monday.
func day(d int) time.Time { return time.Date(2026, 3, d, 0, 0, 0, 0, time.UTC) }

func takenIn(t *testing.T) intake.Piece {
	t.Helper()
	p, err := intake.TakeIn(intake.Piece{Tag: 7, TakenInAt: monday}, day(2))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestTakeIn_LabelsTellPartsApart(t *testing.T) {
	_, err := intake.TakeIn(intake.Piece{Parts: []intake.Part{{Label: "door"}, {Label: "case"}, {Label: "Door"}}}, day(2))
	if f := fault.Of(err); f == nil || f.Reason != "PART_LABEL_TWICE" || f.Fields[0].Path != "parts[2].label" {
		t.Errorf("TakeIn = %v, want PART_LABEL_TWICE at the third", err)
	}
}

func TestTakeIn_BoughtByTheDayItCameIn(t *testing.T) {
	for bought, reason := range map[int]string{1: "", 2: "", 3: "PURCHASE_AFTER_INTAKE"} {
		_, err := intake.TakeIn(intake.Piece{TakenInAt: monday, Purchase: &intake.Purchase{Day: day(bought)}}, day(2))
		if f := fault.Of(err); (f == nil) != (reason == "") || f != nil && (f.Reason != reason || f.Kind != fault.Invalid || f.Fields[0].Path != "purchase.date") {
			t.Errorf("TakeIn of what was bought on the %d. = %v, want %q", bought, err, reason)
		}
	}
}

func TestPiece_Scrap(t *testing.T) {
	t.Run("OK", func(t *testing.T) {
		p := takenIn(t)
		if err := p.Scrap("rotten to the core", monday, false); err != nil {
			t.Fatal(err)
		}
		if p.State != intake.Scrapped || p.Version != 2 || p.ScrapReason == "" {
			t.Errorf("Scrap left %+v", p)
		}
	})
	t.Run("Twice", func(t *testing.T) {
		p := takenIn(t)
		_ = p.Scrap("rotten", monday, false)
		if err := p.Scrap("again", monday, false); !fault.Is(err, "PIECE_SCRAPPED") || p.Version != 2 || p.ScrapReason != "rotten" {
			t.Errorf("second Scrap = %v, left %+v", err, p)
		}
	})
	t.Run("Sold", func(t *testing.T) {
		p := takenIn(t)
		if err := p.Scrap("rotten", monday, true); !fault.Is(err, "PIECE_SOLD") || p.State != intake.InHand {
			t.Errorf("Scrap of a sold piece = %v, left %+v", err, p)
		}
	})
	t.Run("BeforeItCameIn", func(t *testing.T) {
		p := takenIn(t)
		if err := p.Scrap("rotten", monday.Add(-time.Minute), false); !fault.Is(err, "TIME_BEFORE_INTAKE") || p.State != intake.InHand {
			t.Errorf("Scrap = %v, left %+v", err, p)
		}
		if err := p.Scrap("rotten", monday.Truncate(time.Minute), false); err != nil {
			t.Errorf("Scrap in the very minute = %v", err)
		}
	})
}
