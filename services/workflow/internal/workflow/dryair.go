package workflow

import (
	"sort"
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/drying"
	"tackfree/pkg/id"
)

// ZoneAir is what is known of the air in a zone.
type ZoneAir struct {
	Readings []drying.Reading // thinned, oldest first, since the first clock there began and one before it
	Usual    drying.Cycle     // of no use without readings
	Count    int64            // of the readings that were ever new there
}

// Airs is the air of the zones in which clocks stand, with the curves that they share.
type Airs struct {
	zones  map[id.ID]ZoneAir
	curves map[curveOf]*drying.Curve
}

// curveOf is what clocks that never moved share a curve by.
type curveOf struct {
	kinetics drying.Kinetics
	zone     id.ID
}

// NewAirs takes the air of zones by their ids. A zone that it does not have, or that nobody
// read, has the air that a product's times are stated for.
func NewAirs(zones map[id.ID]ZoneAir) *Airs {
	return &Airs{zones: zones, curves: map[curveOf]*drying.Curve{}}
}

// Count is how many readings there are of the zones of some stays.
func (a *Airs) Count(stays []Stay) (n int64) {
	counted := map[id.ID]bool{}
	for _, s := range stays {
		if !counted[s.Zone] {
			n += a.zones[s.Zone].Count
		}
		counted[s.Zone] = true
	}
	return n
}

// ahead is how far the air is forecast; from then on it stays as it is. Most films have
// cured by then, common practice.
const ahead = 30 * 24 * time.Hour

func (a *Airs) curve(k drying.Kinetics, stays []Stay) (*drying.Curve, error) {
	if len(stays) > 1 {
		return a.trace(k, stays)
	}
	key := curveOf{k, stays[0].Zone}
	if c := a.curves[key]; c != nil {
		return c, nil
	}
	c, err := a.trace(k, stays)
	if err == nil {
		a.curves[key] = c
	}
	return c, err
}

// trace adds up the dose stay by stay, and ahead in the air of the last one.
func (a *Airs) trace(k drying.Kinetics, stays []Stay) (*drying.Curve, error) {
	var all []drying.Reading
	for i, s := range stays {
		from, until := s.From, time.Time{}
		if i == 0 {
			from = time.Time{} // the reading before it was laid tells what the air was like then
		}
		if i+1 < len(stays) {
			until = stays[i+1].From
		}
		part, err := a.during(k, s, from, until)
		if err != nil {
			return nil, err
		}
		all = append(all, part...)
	}
	c, err := drying.Trace(k, all)
	last := a.zones[stays[len(stays)-1].Zone]
	if err != nil || len(last.Readings) == 0 {
		return c, err
	}
	return c.Ahead(k, all[len(all)-1], last.Usual, ahead)
}

// during is the air of a stay between two times, with what it was like at both; a zero time
// is open.
func (a *Airs) during(k drying.Kinetics, s Stay, from, until time.Time) ([]drying.Reading, error) {
	readings := a.zones[s.Zone].Readings
	if len(readings) == 0 {
		air, err := k.Reference()
		if err != nil {
			return nil, err
		}
		readings = []drying.Reading{{At: s.From, Air: air}}
	}
	var out []drying.Reading
	if !from.IsZero() {
		first, err := airAt(readings, from)
		if err != nil {
			return nil, err
		}
		out = append(out, first)
	}
	for _, r := range readings {
		if (from.IsZero() || r.At.After(from)) && (until.IsZero() || r.At.Before(until.Add(-time.Nanosecond))) {
			out = append(out, r)
		}
	}
	if until.IsZero() {
		return out, nil
	}
	end, err := airAt(readings, until.Add(-time.Nanosecond)) // just before it was carried away
	return append(out, end), err
}

// airAt is the air between two readings; before the first and after the last it is as there.
func airAt(readings []drying.Reading, at time.Time) (drying.Reading, error) {
	i := sort.Search(len(readings), func(i int) bool { return readings[i].At.After(at) })
	if i == 0 || i == len(readings) {
		return drying.Reading{At: at, Air: readings[max(0, i-1)].Air}, nil
	}
	a, b := readings[i-1], readings[i]
	share := float64(at.Sub(a.At)) / float64(b.At.Sub(a.At))
	air, err := climate.NewAir(between(a.Air.Celsius(), b.Air.Celsius(), share), between(a.Air.Humidity(), b.Air.Humidity(), share))
	return drying.Reading{At: at, Air: air}, err
}

func between(a, b, share float64) float64 { return a + share*(b-a) }
