package day

import (
	"slices"
	"time"

	"golang.org/x/sync/errgroup"
	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/titles"
	"tackfree/services/gateway/internal/web"
)

// rack is what dries, one strip of time for each part, by the air it stands in.
type rack struct {
	Missing bands.Missing
	Ticks   []tick
	Now     string // where now is on all strips
	Zones   []zone
	Drawn   int // strips
	More    int // that are left out
	Drying  int // what still dries, drawn or left out
	Dry     int // what has dried and nothing presses
}

// zone is where things dry, with its air.
type zone struct {
	Name      string // empty: nobody said where
	Air       *workflowv1.Reading
	Obstacles []string // what stands against coating there now, in sentences
	Fit       bool     // nothing that was read does
	Strips    []strip
}

// mostStrips bounds the rack: a strip costs about a kilobyte.
const mostStrips = 36

func (d *day) rack(a *web.Asked) (it rack, err error) {
	f, err := d.rackFacts(a)
	if err != nil {
		return it, it.Missing.Of(err)
	}
	return f.rack(), nil
}

// rackFacts are what the rack is seen from.
type rackFacts struct {
	clocks []*workflowv1.DryClock
	zones  []*workflowv1.ClimateZone
	fit    map[string]*workflowv1.GetConditionsResponse // of zones that were read
	called map[string]titles.Piece
	a      *web.Asked
	now    time.Time
}

func (d *day) rackFacts(a *web.Asked) (*rackFacts, error) {
	f := &rackFacts{a: a, now: a.Now(), fit: map[string]*workflowv1.GetConditionsResponse{}}
	reading, ctx := errgroup.WithContext(a.Context())
	reading.Go(func() error {
		r, err := a.Kit.Suite.Climate.ListDryClocks(ctx, &workflowv1.ListDryClocksRequest{})
		if err != nil {
			return err
		}
		f.clocks = r.DryClocks
		lines := make([]*workflowv1.BoardLine, len(f.clocks))
		for i, c := range f.clocks {
			lines[i] = &workflowv1.BoardLine{Piece: titles.PieceOf(c.Stage)}
		}
		f.called, err = d.called(a, piecesOf(lines))
		return err
	})
	reading.Go(func() error { return f.readAir(a) })
	return f, reading.Wait()
}

// readAir asks what the air of each zone that was read means for coats.
func (f *rackFacts) readAir(a *web.Asked) error {
	r, err := a.Kit.Suite.Climate.ListZones(a.Context(), &workflowv1.ListZonesRequest{})
	if err != nil {
		return err
	}
	f.zones = r.Zones
	for _, z := range f.zones {
		if z.LastReading == nil {
			continue
		}
		if f.fit[z.Name], err = a.Kit.Suite.Climate.GetConditions(a.Context(), &workflowv1.GetConditionsRequest{Zone: z.Name}); err != nil {
			return err
		}
	}
	return nil
}

// rack draws what still dries, and of what is dry that which must be coated before its window closes.
func (f *rackFacts) rack() (out rack) {
	var drawn []*workflowv1.DryClock
	for _, c := range f.clocks {
		if !c.IsReady {
			out.Drying++
		}
		if c.IsReady && !presses(c, f.now) {
			out.Dry++
			continue
		}
		drawn = append(drawn, c)
	}
	drawn, out.More = atMost(drawn, mostStrips)
	out.Drawn = len(drawn)
	x := axisOf(f.now, laidAndReady(drawn))
	out.Ticks, out.Now = x.ticks(f.a.Voice), percent(x.at(f.now))
	for _, z := range append(slices.Clone(f.zones), &workflowv1.ClimateZone{}) {
		it := zone{Name: z.DisplayName, Air: z.LastReading}
		if c := f.fit[z.Name]; c != nil {
			it.Fit, it.Obstacles = c.FitForCoating, c.Obstacles
		}
		for _, c := range drawn {
			if c.Zone == z.Name {
				it.Strips = append(it.Strips, f.strip(x, c, z.LastReading))
			}
		}
		if z.Name != "" || len(it.Strips) > 0 {
			out.Zones = append(out.Zones, it)
		}
	}
	return out
}

// presses reports whether a film's window for the next coat is open and closes within the time drawn.
func presses(c *workflowv1.DryClock, now time.Time) bool {
	t := c.GetRecoatCloses().GetLikelyTime()
	return t != nil && t.AsTime().After(now) && t.AsTime().Before(now.Add(mostAfter))
}

// laidAndReady are the instants that the strips should show: how late something may be, and when its window closes,
// are cut off where nothing else is there yet, and said beside it.
func laidAndReady(clocks []*workflowv1.DryClock) (out []time.Time) {
	for _, c := range clocks {
		for _, t := range []*timestamppb.Timestamp{c.LaidTime, c.GetReady().GetLikelyTime()} {
			if t != nil {
				out = append(out, t.AsTime())
			}
		}
	}
	return out
}
