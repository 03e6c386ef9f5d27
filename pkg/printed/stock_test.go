package printed_test

import (
	"math"
	"testing"

	"tackfree/pkg/printed"
)

// Sheets of labels as they are sold, laid out from their edges in inches and millimetres. From memory.
func TestStockFor_Ready(t *testing.T) {
	for _, c := range []struct {
		paper               printed.Paper
		w, h                float64
		of                  int
		left, top, nextLeft float64
	}{
		{printed.Letter, 25.4 * 2.625, 25.4, 30, 0.1875 * 25.4, 0.5 * 25.4, 2.9375 * 25.4},
		{printed.Letter, 101.6, 50.8, 10, 0.15625 * 25.4, 0.5 * 25.4, 4.34375 * 25.4},
		{printed.A4, 63.5, 38.1, 21, 7.21, 15.15, 73.25},
		{printed.A4, 99.1, 67.7, 8, 4.63, 13.1, 106.27},
	} {
		s := stock(t, c.paper, c.w, c.h)
		if s.Cut || s.Of() != c.of || off(s.Left, c.left) || off(s.Top, c.top) || off(s.Left+s.Width+s.GapX, c.nextLeft) {
			t.Errorf("StockFor(%s, %g, %g) = %+v", c.paper.Name, c.w, c.h, s)
		}
	}
}

func off(got, want float64) bool { return math.Abs(got-want) > 0.01 }

// What is cut out keeps a printer's margins and a gap between.
func TestStockFor_Plain(t *testing.T) {
	s := stock(t, printed.A4, 90, 50)
	if !s.Cut || s.Columns != 2 || s.Rows != 5 || s.Left < 10 || s.Top < 10 || s.GapX < 2 || s.GapY < 2 || off(2*s.Left+2*s.Width+s.GapX, 210) {
		t.Errorf("StockFor(a4, 90, 50) = %+v", s)
	}
}

func TestStockFor_Refused(t *testing.T) {
	for _, c := range [][2]float64{{300, 60}, {10, 60}, {60, 10}, {math.NaN(), 60}, {60, math.Inf(1)}, {-60, -60}, {190.1, 60}} {
		_, err := printed.StockFor(printed.A4, c[0], c[1])
		refused(t, err, "LABELS_OFF_PAPER")
	}
}

func TestReadSize(t *testing.T) {
	for text, want := range map[string][2]float64{"100x60": {100, 60}, " 63.5 x 38.1 mm": {63.5, 38.1}, "4x2in": {101.6, 50.8}, "100×60": {100, 60}, "4 X 3.5 IN": {101.6, 88.9}} {
		w, h, err := printed.ReadSize(text)
		if err != nil || off(w, want[0]) || off(h, want[1]) {
			t.Errorf("ReadSize(%q) = %g, %g, %v, want %v", text, w, h, err, want)
		}
	}
	for _, text := range []string{"", "100", "x", "axb", "100x", "0x60", "-5x5", "NaNx5", "Infx5", "1e9x5", "100x60x2"} {
		_, _, err := printed.ReadSize(text)
		refused(t, err, "LABEL_SIZE_UNREADABLE")
	}
}

func TestSizes(t *testing.T) {
	for _, p := range []printed.Paper{printed.A4, printed.Letter} {
		if len(printed.Sizes(p)) < 3 {
			t.Errorf("Sizes(%s) = %v", p.Name, printed.Sizes(p))
		}
		for _, name := range printed.Sizes(p) {
			w, h, err := printed.ReadSize(name)
			if err != nil {
				t.Fatal(err)
			}
			if stock(t, p, w, h).Cut {
				t.Errorf("%s of %s is cut out", name, p.Name)
			}
		}
	}
}

func TestPaperNamed(t *testing.T) {
	if p, err := printed.PaperNamed("letter"); err != nil || p != printed.Letter || printed.PaperOf(true) != printed.A4 || printed.PaperOf(false) != printed.Letter {
		t.Errorf("PaperNamed(letter) = %v, %v", p, err)
	}
	_, err := printed.PaperNamed("A5")
	refused(t, err, "PAPER_UNKNOWN")
}
