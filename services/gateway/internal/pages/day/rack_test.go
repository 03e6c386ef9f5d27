package day

import (
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

func english() *words.Voice {
	return &words.Voice{Language: "en", Units: words.Metric, Zone: time.UTC}
}

func percentOf(t *rapid.T, text string) int {
	if text == "" {
		return 0
	}
	f, err := strconv.ParseFloat(strings.TrimSuffix(text, "%"), 64)
	if err != nil {
		t.Fatalf("%q is no place in percent", text)
	}
	return int(math.Round(f * 100))
}

// Whatever dries, nothing is drawn outside the strip, the two halves of the bar meet at now, and what
// comes later is not further left.
func TestDraw_StaysInside(t *testing.T) {
	minutes := func(t *rapid.T, name string, from, to int) time.Duration {
		return time.Duration(rapid.IntRange(from, to).Draw(t, name)) * time.Minute
	}
	rapid.Check(t, func(t *rapid.T) {
		laid := wednesday.Add(-minutes(t, "laid", 0, 5000))
		likely := laid.Add(minutes(t, "likely", 1, 20_000))
		early, late := likely.Add(-minutes(t, "early", 0, 600)), likely.Add(minutes(t, "late", 0, 6000))
		closes := timestamppb.New(likely.Add(minutes(t, "closes", 0, 3000)))
		c := &workflowv1.DryClock{Kind: workflowv1.DryClock_KIND_FILM, LaidTime: timestamppb.New(laid), StatedTime: durationpb.New(minutes(t, "stated", 1, 9000)),
			FilmSlows: rapid.Float64Range(0.1, 90).Draw(t, "film"), IsReady: !likely.After(wednesday),
			Ready: &workflowv1.DryWindow{EarlyTime: timestamppb.New(early), LikelyTime: timestamppb.New(likely), LateTime: timestamppb.New(late)}}
		x := axisOf(wednesday, laidAndReady([]*workflowv1.DryClock{c}))
		d := draw(x, c, wednesday, closes)
		for name, bar := range map[string][2]string{"begun": {d.Begun, d.BegunWidth}, "ahead": {d.Ahead, d.AheadWidth}, "range": {d.Early, d.EarlyWidth}, "window": {d.Window, d.WindowWidth}} {
			at, width := percentOf(t, bar[0]), percentOf(t, bar[1])
			if at < 0 || width < 0 || at+width > wholeWidth {
				t.Fatalf("%s is from %d and %d wide, of %d", name, at, width, wholeWidth)
			}
		}
		if !c.IsReady && percentOf(t, d.Begun)+percentOf(t, d.BegunWidth) != percentOf(t, d.Ahead) {
			t.Fatalf("the bar has a gap: %+v", d)
		}
		if c.IsReady && percentOf(t, d.AheadWidth) != 0 {
			t.Fatalf("what is dry dries on: %+v", d)
		}
		if d.Height < leastHeight || d.Height > mostHeight || d.Top < 0 || d.Top+d.Height > 24 {
			t.Fatalf("the bar is from %d px, %d px high", d.Top, d.Height)
		}
		a, b := wednesday.Add(minutes(t, "a", -3000, 9000)), wednesday.Add(minutes(t, "b", -3000, 9000))
		if a.Before(b) && x.at(a) > x.at(b) {
			t.Fatalf("%s is drawn after %s", a, b)
		}
	})
}

func TestDraw_WhereThingsAre(t *testing.T) {
	x := axis{wednesday.Add(-2 * time.Hour), wednesday.Add(8 * time.Hour)}
	at := func(h int) *timestamppb.Timestamp {
		return timestamppb.New(wednesday.Add(time.Duration(h) * time.Hour))
	}
	c := &workflowv1.DryClock{Kind: workflowv1.DryClock_KIND_FILM, LaidTime: at(-1), StatedTime: durationpb.New(4 * time.Hour), FilmSlows: 1.6,
		Ready: &workflowv1.DryWindow{EarlyTime: at(4), LikelyTime: at(5), LateTime: at(7)}}
	want := drawn{Begun: "10.00%", BegunWidth: "10.00%", Ahead: "20.00%", AheadWidth: "50.00%", Early: "60.00%", EarlyWidth: "30.00%", Stated: "50.00%", Top: 6, Height: 16}
	if got := draw(x, c, wednesday, nil); got != want {
		t.Errorf("draw = %+v, want %+v", got, want)
	}
	c.Ready = nil
	if got := draw(x, c, wednesday, at(7)); got.AheadWidth != "80.00%" || got.Closes != "90.00%" {
		t.Errorf("what never dries in this air: %+v", got)
	}
}

func TestAxis_Ticks(t *testing.T) {
	for hours := 5; hours <= 96; hours++ {
		x := axis{wednesday.Add(-time.Hour), wednesday.Add(time.Duration(hours) * time.Hour)}
		ticks := x.ticks(english())
		if len(ticks) == 0 || len(ticks) > mostTicks {
			t.Errorf("%d hours have %d ticks: %v", hours, len(ticks), ticks)
		}
	}
	x := axis{wednesday.Add(-time.Hour), wednesday.Add(23 * time.Hour)}
	if got := x.ticks(english()); got[0].Text != "12:00" || got[2].Text != "Thu" || !got[2].Day {
		t.Errorf("ticks of a day: %v", got)
	}
}

// Why it takes longer: what the film and the shop do not explain is the air's.
func TestEffect_Says(t *testing.T) {
	cold, mild := &workflowv1.Reading{Celsius: 15, HumidityPercent: 70}, &workflowv1.Reading{Celsius: 24, HumidityPercent: 50}
	hot := &workflowv1.Reading{Celsius: 31, HumidityPercent: 30}
	for _, c := range []struct {
		name   string
		kind   workflowv1.DryClock_Kind
		takes  time.Duration
		film   float64
		shop   float64
		air    *workflowv1.Reading
		stated time.Duration
		want   string
	}{
		{"as stated", workflowv1.DryClock_KIND_FILM, 4 * time.Hour, 1, 1, mild, 4 * time.Hour, "About as its maker says, 4:00."},
		{"cold and damp", workflowv1.DryClock_KIND_FILM, 6 * time.Hour, 1, 1, cold, 4 * time.Hour, "2:00 longer than the 4:00 its maker says: cold, damp air."},
		{"thick alone", workflowv1.DryClock_KIND_FILM, 6 * time.Hour, 1.5, 1, cold, 4 * time.Hour, "2:00 longer than the 4:00 its maker says: a thick film, ×1.50."},
		{"thick, slow here, cold", workflowv1.DryClock_KIND_FILM, 9 * time.Hour, 1.5, 1.2, cold, 4 * time.Hour,
			"5:00 longer than the 4:00 its maker says: a thick film, ×1.50, it has dried slower in this shop before, ×1.20, cold, damp air."},
		{"hot", workflowv1.DryClock_KIND_FILM, 2 * time.Hour, 1, 1, hot, 4 * time.Hour, "2:00 sooner than the 4:00 its maker says: warm, dry air."},
		{"felt", workflowv1.DryClock_KIND_FILM, 6 * time.Hour, 1, 1, mild, 4 * time.Hour, "2:00 longer than the 4:00 its maker says: by the air since it was laid and what was felt."},
		{"nobody read the air", workflowv1.DryClock_KIND_WOOD, 4 * time.Hour, 1, 1, nil, 4 * time.Hour, "About as planned, 4:00. Nobody has read the air there, so it is reckoned as stated."},
		{"glue", workflowv1.DryClock_KIND_MINUTES, 4 * time.Hour, 1, 1, cold, 4 * time.Hour, ""},
		{"nothing stated", workflowv1.DryClock_KIND_FILM, 4 * time.Hour, 1, 1, cold, 0, ""},
	} {
		clock := &workflowv1.DryClock{Kind: c.kind, LaidTime: timestamppb.New(wednesday), FilmSlows: c.film, ShopSlows: c.shop,
			Ready: &workflowv1.DryWindow{LikelyTime: timestamppb.New(wednesday.Add(c.takes))}}
		if c.stated > 0 {
			clock.StatedTime = durationpb.New(c.stated)
		}
		if got := effectOf(clock, c.air).Says(english()); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// What is dry and presses nobody is counted, not drawn; a window that closes is drawn; each strip
// stands in its zone.
func TestRackFacts_Rack(t *testing.T) {
	at := func(h int) *timestamppb.Timestamp {
		return timestamppb.New(wednesday.Add(time.Duration(h) * time.Hour))
	}
	clock := func(zone string, ready int, closes *timestamppb.Timestamp) *workflowv1.DryClock {
		return &workflowv1.DryClock{Stage: "pieces/1/stages/1", PieceTag: int32(ready + 10), Kind: workflowv1.DryClock_KIND_FILM, Zone: zone, LaidTime: at(-6),
			Ready: &workflowv1.DryWindow{LikelyTime: at(ready)}, IsReady: ready <= 0, RecoatCloses: &workflowv1.DryWindow{LikelyTime: closes}}
	}
	f := &rackFacts{now: wednesday, a: &web.Asked{Voice: english()}, zones: []*workflowv1.ClimateZone{{Name: "climateZones/north", DisplayName: "North"}, {Name: "climateZones/booth", DisplayName: "Booth"}},
		clocks: []*workflowv1.DryClock{clock("climateZones/north", -1, nil), clock("climateZones/north", -2, at(3)), clock("climateZones/booth", 4, at(9)), clock("", 5, nil), clock("climateZones/booth", -3, at(-1))}}
	got := f.rack()
	if got.Dry != 2 || got.Drying != 2 || got.Drawn != 3 || len(got.Zones) != 3 {
		t.Fatalf("rack: %d dry, %d drying, %d drawn in %d zones", got.Dry, got.Drying, got.Drawn, len(got.Zones))
	}
	if s := got.Zones[0].Strips; len(s) != 1 || s[0].Closes == nil || !s[0].Dry {
		t.Errorf("in the north: %+v", s)
	}
	if s := got.Zones[2].Strips; got.Zones[2].Name != "" || len(s) != 1 || s[0].Tag != 15 {
		t.Errorf("where nobody said: %+v", s)
	}
}
