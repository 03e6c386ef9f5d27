package printed_test

import (
	"testing"
)

// However much stands before them, lines to sign on are whole on one page, above its foot.
func TestWrite_SignStaysTogether(t *testing.T) {
	for lines := range 40 {
		d := invoice(lines)
		d.Sign = []string{"Aceptado: nombre y firma", "En qué día"}
		found := 0
		for _, p := range pagesOf(t, document(t, d)) {
			here := 0
			for _, l := range p.lines {
				if l.text == d.Sign[0] || l.text == d.Sign[1] {
					if here++; l.y < 20*mm || l.y > (p.height-30)*mm {
						t.Errorf("after %d lines %q stands at %.0f mm", lines, l.text, l.y/mm)
					}
				}
			}
			if here == 1 {
				t.Errorf("after %d lines the lines to sign on are on two pages", lines)
			}
			found += here
		}
		if found != 2 {
			t.Errorf("after %d lines there are %d lines to sign on", lines, found)
		}
	}
}
