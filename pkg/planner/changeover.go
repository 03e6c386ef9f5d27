package planner

// A station that is cleaned between colours has, beside its own room, one for each colour: what is taken there is
// when nothing of that colour can be done. What is done of one colour takes a room of another one for as long as it
// lasts, and before and after it as long as cleaning takes. So that something fits is one look at one room, as
// elsewhere, and does not hang on what comes next to what: taking something out leaves all else allowed.

// EvenChangeover is that of a station where cleaning between any two of so many colours takes as long.
func EvenChangeover(colours, minutes int) [][]int {
	all := make([][]int, colours+1)
	for from := range all {
		all[from] = make([]int, colours+1)
		for to := 1; from > 0 && to <= colours; to++ {
			if to != from {
				all[from][to] = minutes
			}
		}
	}
	return all
}

// colour counts the rooms.
func (c *compiled) colour() {
	c.shades, c.roomCount = make([]int, len(c.Stations)), len(c.Stations)
	for i, s := range c.Stations {
		if s.Changeover != nil {
			c.shades[i] = c.roomCount - 1
			c.roomCount += len(s.Changeover) - 1
		}
	}
}

// shade gives the room of a colour at a station.
func (c *compiled) shade(station, colour int) int {
	if colour == 0 || !c.cleans(station) {
		return station
	}
	return c.shades[station] + colour
}

// clean takes the rooms of all colours for something done at a station, or gives them back.
func (f *floor) clean(op int, p place, on bool) {
	if p.start == p.end {
		return // what takes no time is nowhere
	}
	over, colour := f.Stations[p.station].Changeover, f.Operations[op].Colour
	for other := 1; other < len(over); other++ {
		f.rooms[f.shade(int(p.station), other)].take(int(p.start)-over[other][colour], int(p.end)+over[colour][other], 1, on)
	}
}

// cleaning gives how long it takes at a station from one colour to another, and back.
func (p *Problem) cleaning(station, from, to int) (minutes, back int) {
	if over := p.Stations[station].Changeover; over != nil {
		return over[from][to], over[to][from]
	}
	return 0, 0
}

// cleans tells whether a station, if it is one, is cleaned between colours.
func (p *Problem) cleans(station int) bool {
	return station != NoStation && p.Stations[station].Changeover != nil
}

// checkChangeover finds what is no changeover.
func (s *Station) checkChangeover() error {
	if s.Changeover == nil {
		return nil
	}
	if s.Capacity > 1 {
		return malformed("Station %s is cleaned between colours and holds %d at once: it has to hold one, for of several nobody knows which colour it has.", s.ID, s.Capacity)
	}
	n := len(s.Changeover)
	if n == 0 {
		return malformed("The changeover of station %s has no colour 0, that of what has none.", s.ID)
	}
	for from, minutes := range s.Changeover {
		if len(minutes) != n {
			return malformed("The changeover of station %s from colour %d is to %d colours and not to all %d.", s.ID, from, len(minutes), n)
		}
		for to, m := range minutes {
			if m < 0 || m > longest || (m > 0 && (from == 0 || to == 0)) {
				return malformed("The changeover of station %s from colour %d to colour %d takes no %d minutes.", s.ID, from, to, m)
			}
		}
	}
	return nil
}

// checkColour finds a colour that a station does not know.
func (p *Problem) checkColour(o *Operation, station int) error {
	if over := p.Stations[station].Changeover; o.Colour < 0 || (over != nil && o.Colour >= len(over)) {
		return malformed("Operation %s is of colour %d, and station %s knows no cleaning from and to it.", o.ID, o.Colour, p.Stations[station].ID)
	}
	return nil
}
