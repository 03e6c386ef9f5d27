package cli

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/rivo/uniseg"
	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"
)

func chicago(t *testing.T) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// What stands on a screen, and how much of each when it is small.
func TestFloorView(t *testing.T) {
	t.Parallel()
	noon := middayPlus(0).AsTime()
	v := floorView{read: true, zone: chicago(t), alerts: 2,
		hands:  []hand{{who: "Nell", at: []string{"12 sand (top)", "14 sand (top)"}, since: noon.Add(-65 * time.Minute)}},
		drying: []film{{tag: 12, what: "topcoat (drawers)", zone: "booth", laid: noon.Add(-time.Hour), ready: middayPlus(60)}, {tag: 9, what: "stain (top)", laid: noon}, {tag: 8, what: "dye", laid: noon.Add(-time.Hour), ready: middayPlus(-1)}},
		ready:  []waiting{{tag: 14, what: "wax (top)", who: "Tom", promise: middayPlus(-60)}},
		waits:  []waiting{{tag: 15, what: "nobody has laid out its stages"}, {what: "a clock entry of Nell is to be settled by the lead"}},
		latest: []happening{{noon.Add(-2 * time.Minute), "first"}, {noon.Add(-time.Minute), "second"}}}
	want := []string{
		"The floor, Mon 2 Mar 12:00:00              2 alerts of stock",
		"AT WORK: one pair of hands",
		"    1:05  Nell            12 sand (top) + 14 sand (top)",
		"DRYING: 3 films",
		"  ▓▓▓▓░░░░  13:00 in 1:00        12  topcoat (drawers)  boot",
		"  ········  nobody knows          9  stain (top)  ",
		"  ▓▓▓▓▓▓▓▓  any moment            8  dye  ",
		"READY: one stage",
		"     14  wax (top)                       for Tom, promised M",
		"WAITING FOR SOMEBODY: 2 things",
		"     15  nobody has laid out its stages",
		"         a clock entry of Nell is to be settled by the lead",
		"JUST HAPPENED",
		"  11:59:00  second",
		"  11:58:00  first",
		"",
		"q leaves",
	}
	if diff := cmp.Diff(want, v.lines(60, len(want), noon, false)); diff != "" {
		t.Errorf("the screen (-want +got):\n%s", diff)
	}
	v.away = true
	small := v.lines(60, 12, noon, false)
	if diff := cmp.Diff([]string{"DRYING: 3 films", "  … and 3 more"}, small[3:5]); diff != "" || len(small) != 12 || !strings.HasPrefix(small[11], "The shop is away") {
		t.Errorf("a small screen is %q", small)
	}
	if got := strings.Join(v.lines(80, 20, noon, true), "\n"); !strings.Contains(got, "\x1b[1;31mpromised Mon 2 Mar 11:00\x1b[0m") || !strings.Contains(got, "\x1b[32mAT WORK") {
		t.Errorf("in colours it is %q", got)
	}
}

// Whatever there is and however small the screen, nothing is beside it and no colour goes on after a line.
func TestFloorView_Fits(t *testing.T) {
	t.Parallel()
	zone := chicago(t)
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SampledFrom([]string{"", "Nell", "schön gewachst", "漆 塗り", "a very long title of a stage (that has a part)"})
		v := floorView{read: true, zone: zone, alerts: rapid.IntRange(-1, 3).Draw(t, "alerts"), away: rapid.Bool().Draw(t, "away")}
		for range rapid.IntRange(0, 12).Draw(t, "hands") {
			v.hands = append(v.hands, hand{who: words.Draw(t, "who"), at: []string{words.Draw(t, "at")}})
		}
		for range rapid.IntRange(0, 12).Draw(t, "waits") {
			w := waiting{what: words.Draw(t, "what"), promise: timestamppb.New(time.Unix(0, 0))}
			v.waits, v.ready = append(v.waits, w), append(v.ready, w)
		}
		width, height := rapid.IntRange(1, 90).Draw(t, "width"), rapid.IntRange(1, 40).Draw(t, "height")
		lines := v.lines(width, height, time.Unix(1e9, 0), true)
		if len(lines) != height {
			t.Fatalf("%d lines on a screen of %d", len(lines), height)
		}
		for _, l := range lines {
			bare := anyColour.ReplaceAllString(l, "")
			if n := uniseg.StringWidth(bare); n > width {
				t.Fatalf("%q takes %d places of %d", bare, n, width)
			}
			if at := anyColour.FindAllString(l, -1); len(at) > 0 && at[len(at)-1] != "\x1b[0m" {
				t.Fatalf("the colour goes on after %q", l)
			}
		}
	})
}

func TestRooms(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		needs []int
		lines int
		want  []int
	}{{[]int{3, 1, 9}, 20, []int{3, 1, 9}}, {[]int{3, 1, 9}, 6, []int{3, 1, 2}}, {[]int{5, 5}, 1, []int{1, 0}}, {[]int{5}, -3, []int{0}}, {nil, 4, []int{}}} {
		if diff := cmp.Diff(c.want, rooms(c.needs, c.lines)); diff != "" {
			t.Errorf("rooms(%v, %d) (-want +got):\n%s", c.needs, c.lines, diff)
		}
	}
}
