package printed_test

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"tackfree/pkg/printed"
)

const address = "http://192.168.1.20:7410/pieces/401"

var tag = printed.Label{Number: "401", Title: "Oak chest “Łódź café” – £40", Lines: []string{"for L. Brandt", "top · case"}, Warning: "Presume LEAD: case.", Code: address}

func sheet(t *testing.T, n int) printed.Sheet {
	t.Helper()
	s := printed.Sheet{Info: info, Stock: stock(t, printed.A4, 99.1, 67.7)}
	for i := range n {
		l := tag
		l.Number = fmt.Sprint(401 + i)
		s.Labels = append(s.Labels, l)
	}
	return s
}

// A sheet of eight that begins at its fourth label takes five, and the next sheet the rest.
func TestLabels_Pages(t *testing.T) {
	s := sheet(t, 6)
	s.Start = 4
	all := pagesOf(t, labels(t, s))
	if len(all) != 2 {
		t.Fatalf("%d pages, want 2", len(all))
	}
	for i, want := range []int{5, 1} {
		if p := all[i]; strings.Count(p.text, "Oak chest “Łódź café” – £40\n") != want || math.Abs(p.width-210) > 0.1 || math.Abs(p.height-297) > 0.1 {
			t.Errorf("page %d is %.1f x %.1f and says %q, want %d labels on A4", i+1, p.width, p.height, p.text, want)
		}
	}
	if !strings.HasPrefix(all[0].text, "Presume LEAD: case.\n401\nOak") || !strings.Contains(all[1].text, "406") {
		t.Errorf("the pages say %q and %q", all[0].text, all[1].text)
	}
	if first := all[0].lines[0]; first.x < (210/2)*mm || first.y > (297-13-67.7)*mm {
		t.Errorf("the fourth label begins at %.0f, %.0f points", first.x, first.y)
	}
}

// What a reader of codes, which this suite has not made, reads from the page is the address. Modules have
// 0.4 mm and four of them stay white on each side (ISO/IEC 18004).
func TestLabels_CodeIsRead(t *testing.T) {
	for _, size := range [][2]float64{{150, 60}, {63.5, 38.1}, {99.1, 67.7}, {60, 30}} {
		s := printed.Sheet{Info: info, Stock: stock(t, printed.A4, size[0], size[1]), Labels: []printed.Label{tag}}
		s.Stock.Cut = false // its lines are rectangles too
		s.Labels[0].Warning = ""
		p := pagesOf(t, labels(t, s))[0]
		if got := read(t, p.seen()); got != address {
			t.Errorf("a label of %v reads %q, want %q", size, got, address)
		}
		module, left, bottom := math.Inf(1), math.Inf(1), math.Inf(1)
		for _, r := range p.dark {
			module, left, bottom = min(module, r.h), min(left, r.x), min(bottom, r.y)
		}
		if module < 0.4*mm-0.001 {
			t.Errorf("modules of a label of %v have %.3f mm", size, module/mm)
		}
		for _, l := range p.lines {
			if l.to > left-4*module && l.y > bottom-4*module {
				t.Errorf("%q of a label of %v stands in the quiet zone", l.text, size)
			}
		}
	}
}

// The number is the largest that is written.
func TestLabels_NumberIsLargest(t *testing.T) {
	for _, size := range [][2]float64{{150, 60}, {63.5, 38.1}, {100, 60}} {
		s := printed.Sheet{Info: info, Stock: stock(t, printed.A4, size[0], size[1]), Labels: []printed.Label{tag}}
		for _, l := range pagesOf(t, labels(t, s))[0].lines {
			if number := l.text == "401"; number && l.size < 20 || !number && l.size > 15 {
				t.Errorf("%q is written in %.1f points on %v", l.text, l.size, size)
			}
		}
	}
}

// The longest number that a tag can have is written whole.
func TestLabels_LongNumber(t *testing.T) {
	l := tag
	l.Number = "2147483647"
	s := printed.Sheet{Info: info, Stock: stock(t, printed.A4, 63.5, 38.1), Labels: []printed.Label{l}}
	if p := pagesOf(t, labels(t, s))[0]; !strings.Contains(p.text, "2147483647") {
		t.Errorf("the label says %q", p.text)
	}
}

func TestLabels_Same(t *testing.T) {
	first := labels(t, sheet(t, 9))
	for range 5 {
		if !bytes.Equal(first, labels(t, sheet(t, 9))) {
			t.Fatal("the same labels give other bytes")
		}
	}
	for _, says := range []string{"/Lang (en)", "/CreationDate (D:20260318160000", "/ModDate (D:20260318160000"} {
		if !bytes.Contains(first, []byte(says)) {
			t.Errorf("the file does not say %s", says)
		}
	}
}

func TestLabels_Refused(t *testing.T) {
	for reason, spoil := range map[string]func(*printed.Sheet){
		"LABELS_MISSING":         func(s *printed.Sheet) { s.Labels = nil },
		"LABELS_TOO_MANY":        func(s *printed.Sheet) { s.Labels = make([]printed.Label, printed.MostLabels+1) },
		"LABEL_START_OFF_SHEET":  func(s *printed.Sheet) { s.Start = 9 },
		"LABELS_OFF_PAPER":       func(s *printed.Sheet) { s.Stock.Columns = 3 },
		"LABEL_TOO_SMALL":        func(s *printed.Sheet) { s.Labels[1].Code = strings.Repeat("x", 900) },
		"PRINT_UNDATED":          func(s *printed.Sheet) { s.Created = time.Time{} },
		"PRINT_WITHOUT_LANGUAGE": func(s *printed.Sheet) { s.Language = "en) /JS (" },
	} {
		s, b := sheet(t, 2), bytes.Buffer{}
		spoil(&s)
		refused(t, printed.Labels(&b, s), reason)
		if b.Len() > 0 {
			t.Errorf("%s: %d bytes are written all the same", reason, b.Len())
		}
	}
}
