package tags_test

import (
	"regexp"
	"strconv"
	"testing"

	"pgregory.net/rapid"
	"rsc.io/qr"

	"tackfree/services/gateway/internal/pages/tags"
)

var run = regexp.MustCompile(`M(\d+) (\d+)h(\d+)v1h-(\d+)z`)

// The drawing has exactly the code's dark modules, within a margin of four.
func TestCodeOf(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := "http://" + rapid.StringMatching(`[a-z0-9.:]{1,30}/pieces/[0-9]{1,7}`).Draw(t, "address")
		got, err := tags.CodeOf(text)
		if err != nil {
			t.Fatal(err)
		}
		want, err := qr.Encode(text, qr.Q)
		if err != nil {
			t.Fatal(err)
		}
		dark, left := map[[2]int]bool{}, run.ReplaceAllString(got.Path, "")
		for _, m := range run.FindAllStringSubmatch(got.Path, -1) {
			x, y, n, back := number(m[1]), number(m[2]), number(m[3]), number(m[4])
			if n != back || n < 1 {
				t.Fatalf("a run of %d goes back %d", n, back)
			}
			for i := range n {
				if dark[[2]int{x + i, y}] {
					t.Fatalf("module %d, %d is drawn twice", x+i, y)
				}
				dark[[2]int{x + i, y}] = true
			}
		}
		if left != "" || got.Size != want.Size+8 {
			t.Fatalf("left over %q; size %d, want %d", left, got.Size, want.Size+8)
		}
		for y := range got.Size {
			for x := range got.Size {
				if dark[[2]int{x, y}] != want.Black(x-4, y-4) {
					t.Fatalf("module %d, %d is %t", x, y, dark[[2]int{x, y}])
				}
			}
		}
	})
}

func number(s string) int {
	n, err := strconv.Atoi(s)
	if err != nil {
		panic(err) // it matched digits
	}
	return n
}
