package drying

import (
	"math"
	"slices"
	"time"

	"tackfree/pkg/climate"
	"tackfree/pkg/dimension"
)

// Cycle is what the air is usually like at each full hour of a day, by the clock of a zone.
// CycleOf makes it; the zero Cycle is none, and Ahead refuses it.
type Cycle struct {
	celsius, humidity [24]float64
	zone              *time.Location
}

// CycleOf takes the mean of past readings for each hour; an hour without any is filled in
// between its neighbours. Of readings from less than half a day it makes a flat day. No zone
// (nil) is UTC. Faults: NO_READINGS, as of Trace; AIR_MISSING.
func CycleOf(readings []Reading, zone *time.Location) (Cycle, error) {
	if zone == nil {
		zone = time.UTC
	}
	c := Cycle{zone: zone}
	if len(readings) == 0 {
		return c, errNoReadings
	}
	var n [24]float64
	var all [3]float64
	for _, r := range readings {
		if err := r.Air.Check(); err != nil {
			return Cycle{}, err
		}
		h := r.At.In(zone).Hour()
		n[h]++
		c.celsius[h] += r.Air.Celsius()
		c.humidity[h] += r.Air.Humidity()
		all[0], all[1], all[2] = all[0]+1, all[1]+r.Air.Celsius(), all[2]+r.Air.Humidity()
	}
	hours := 0
	for h := range n {
		if n[h] > 0 {
			c.celsius[h], c.humidity[h] = c.celsius[h]/n[h], c.humidity[h]/n[h]
			hours++
		}
	}
	for h := range n {
		switch {
		case hours < 12:
			c.celsius[h], c.humidity[h] = all[1]/all[0], all[2]/all[0]
		case n[h] == 0:
			c.fill(h, n)
		}
	}
	return c, nil
}

// fill takes an hour from the nearest hours before and after it that were read.
func (c *Cycle) fill(h int, n [24]float64) {
	before, after := 1, 1
	for n[(h-before+24)%24] == 0 {
		before++
	}
	for n[(h+after)%24] == 0 {
		after++
	}
	a, b := (h-before+24)%24, (h+after)%24
	share := float64(before) / float64(before+after)
	c.celsius[h] = c.celsius[a] + share*(c.celsius[b]-c.celsius[a])
	c.humidity[h] = c.humidity[a] + share*(c.humidity[b]-c.humidity[a])
}

// at is the usual air at an instant, straight between two hours.
func (c Cycle) at(t time.Time) (celsius, humidity float64) {
	local := t.In(c.zone)
	share := float64(local.Minute())/60 + float64(local.Second())/3600
	a, b := local.Hour(), (local.Hour()+1)%24
	return c.celsius[a] + share*(c.celsius[b]-c.celsius[a]), c.humidity[a] + share*(c.humidity[b]-c.humidity[a])
}

// fade is how fast today's deviation from the usual goes away. Common practice.
const fade = 12 * time.Hour

// Ahead adds the readings to be expected after the last one, hour by hour up to a length of
// time (at most 60 days): the usual air, and what the last reading differs from it, fading.
// What was read and what is ahead are one curve, which knows the one from the other. Faults:
// OUT_OF_RANGE, of the time; NO_READINGS, of the zero Curve or Cycle; those of Kinetics.Rate.
func (c *Curve) Ahead(k Kinetics, last Reading, usual Cycle, d time.Duration) (*Curve, error) {
	if err := dimension.Within("time ahead", d.Hours(), 0, 60*24, "h"); err != nil {
		return nil, err
	}
	if c.empty() || usual.zone == nil {
		return nil, errNoReadings
	}
	if err := last.Air.Check(); err != nil {
		return nil, err
	}
	l, err := k.law()
	if err != nil {
		return nil, err
	}
	out := c.asRead()
	celsius, humidity := usual.at(last.At)
	warmer, damper := last.Air.Celsius()-celsius, last.Air.Humidity()-humidity
	for after := time.Hour; after <= d; after += time.Hour {
		left := math.Exp(-after.Hours() / fade.Hours())
		celsius, humidity := usual.at(last.At.Add(after))
		air, err := climate.NewAir(clamp(celsius+left*warmer, -40, 60), clamp(humidity+left*damper, 0.1, 100))
		if err != nil {
			return nil, err
		}
		out.add(last.At.Add(after), l.rate(air), nobodyRead)
	}
	return out, nil
}

// asRead is a copy of what was read, without what was forecast.
func (c *Curve) asRead() *Curve {
	return &Curve{at: slices.Clone(c.at[:c.known]), rates: slices.Clone(c.rates[:c.known]), doses: slices.Clone(c.doses[:c.known]),
		unread: slices.Clone(c.unread[:c.known]), known: c.known}
}

func clamp(v, low, high float64) float64 { return math.Min(high, math.Max(low, v)) }
