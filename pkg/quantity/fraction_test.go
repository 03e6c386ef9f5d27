package quantity_test

import (
	"fmt"
	"math/big"
	"strings"
	"testing"

	"tackfree/pkg/quantity"
)

func TestDecimal(t *testing.T) {
	for text, want := range map[string]string{
		"18 1/2": "18.5", "18½": "18.5", "18 ½": "18.5", "3/4": "0.75", "¾": "0.75", " 18-1/2 ": "18.5", "18 - 1/2": "18.5", "17 3/8": "17.375", "5/16": "0.3125", "1⁄32": "0.03125",
		"1/64": "0.015625", "-1/2": "-0.5", "-18 1/2": "-18.5", "0 1/2": "0.5", "2 63/64": "2.984375", "36": "36", "0.75": "0.75", "": "", "1/5": "0.2",
		// for Parse to refuse
		"1/3": "1/3", "2 1/3": "2 1/3", "⅓": "⅓", "3/2": "3/2", "1/1": "1/1", "0/4": "0/4", "1/0": "1/0", "1.5 1/2": "1.5 1/2", "1/2/3": "1/2/3", "1 2 1/2": "1 2 1/2", "18 1/": "18 1/", "½½": "½½",
		"1/2 in": "1/2 in", "9999999999 1/2": "9999999999 1/2", "1/1024": "1/1024", "--1/2": "--1/2", "１/２": "１/２",
	} {
		if got := quantity.Decimal(text); got != want {
			t.Errorf("Decimal(%q) = %q, want %q", text, got, want)
		}
	}
}

// Every mark of a rule is kept exactly: against the rational numbers of the standard library.
func TestDecimal_EachMarkOfARule(t *testing.T) {
	for _, under := range []int64{2, 4, 8, 16, 32, 64} {
		for over := int64(1); over < under; over++ {
			q, err := quantity.Parse(quantity.Decimal(fmt.Sprintf("%d %d/%d", over, over, under)), "in")
			want := new(big.Rat).Add(big.NewRat(over, 1), big.NewRat(over, under))
			if err != nil || q.Value.Rat().Cmp(want) != 0 {
				t.Errorf("%d %d/%d = %v, %v, want %v", over, over, under, q, err, want)
			}
		}
	}
}

// Whatever is typed, what is not a fraction comes back untouched, and what is one is a number that Parse takes.
func FuzzDecimal(f *testing.F) {
	for _, s := range []string{"18 1/2", "¾", "1/3", "x", "-1/2", "1/999", "999999999 998/999", "1/512"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		got := quantity.Decimal(text)
		if got == text {
			return
		}
		if _, err := quantity.Parse(got, "in"); err != nil || strings.ContainsAny(got, "/ ") {
			t.Errorf("Decimal(%q) = %q: %v", text, got, err)
		}
	})
}
