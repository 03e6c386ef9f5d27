package intake_test

import (
	"testing"

	"tackfree/pkg/fault"
	"tackfree/services/intake/internal/intake"
)

func TestPiece_Scrap(t *testing.T) {
	t.Run("OK", func(t *testing.T) {
		p := intake.TakeIn(intake.Piece{Tag: 7})
		if err := p.Scrap("rotten to the core", false); err != nil {
			t.Fatal(err)
		}
		if p.State != intake.Scrapped || p.Version != 2 || p.ScrapReason == "" {
			t.Errorf("Scrap left %+v", p)
		}
	})
	t.Run("Twice", func(t *testing.T) {
		p := intake.TakeIn(intake.Piece{Tag: 7})
		_ = p.Scrap("rotten", false)
		if err := p.Scrap("again", false); !fault.Is(err, "PIECE_SCRAPPED") || p.Version != 2 || p.ScrapReason != "rotten" {
			t.Errorf("second Scrap = %v, left %+v", err, p)
		}
	})
	t.Run("Sold", func(t *testing.T) {
		p := intake.TakeIn(intake.Piece{Tag: 7})
		if err := p.Scrap("rotten", true); !fault.Is(err, "PIECE_SOLD") || p.State != intake.InHand {
			t.Errorf("Scrap of a sold piece = %v, left %+v", err, p)
		}
	})
}
