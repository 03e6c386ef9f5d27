package workflow

import (
	"slices"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/sentence"
)

// OpenPiece is a piece on which something is left to do, and what its stages find there.
type OpenPiece struct {
	Plan
	Ground Ground // the air is that of Search
}

// Search is what somebody's next stage is chosen from.
type Search struct {
	Person  Person
	Station string // its word, where they stand: only what can be done there; empty: anywhere
	Open    []OpenPiece
	Places  Places              // of the whole shop, but for what was worked there
	Used    []UsedAt            // the last work with each product at a station
	Batches map[id.ID]string    // what the open ones are called
	Airs    map[id.ID]Air       // by zone, as it was last read
	Planned map[id.ID]time.Time // by stage: when the person begins it by the plan that people know
	Refused map[id.ID]bool      // by stage: the person does not want it
	Now     time.Time           // in the shop's zone
}

// UsedAt is work at a station with a product.
type UsedAt struct {
	Station, Product id.ID
	Used
}

// Offer is a stage that somebody could do next, or has.
type Offer struct {
	Piece   *OpenPiece
	Stage   Stage
	Theirs  bool
	Urgency float64   // see urgency: the higher, the sooner it is best done
	Why     string    // a sentence: why it stands where it stands
	Planned time.Time // when the person begins it by the plan that people know; zero: it says nothing
	against *fault.Fault
	weight  int64         // of the piece, in minor units
	ahead   time.Duration // of work and drying, to the end of the piece
	turn    time.Time     // see turn; zero: it has none today
	closes  time.Time     // when the recoat window of what lies below closes; zero: never
}

// Next are the stages that the person could do now, the best first: those that are theirs,
// then the pool, each by urgency, without what they gave back. With them comes a sentence for
// each thing that keeps other stages from them.
func (s *Search) Next() (offers []Offer, obstacles []sentence.Sentence) {
	if err := s.Person.there(s.Now); err != nil {
		return nil, []sentence.Sentence{sentence.New("NOT_IN_SHOP", "%s", err.Error())}
	}
	var kept []Offer
	for _, o := range s.all() {
		if o.against == nil && s.Refused[o.Stage.ID] {
			o.against = fault.New(fault.Precondition, "STAGE_REFUSED", "%s gave %s back. Claim it by its name to have it all the same.", s.Person.Name, o.Stage.Title())
		}
		switch {
		case o.against != nil:
			kept = append(kept, o)
		case !slices.Contains(o.Piece.OnIt[o.Stage.ID], s.Person.Name): // which they do already
			offers = append(offers, o)
		}
	}
	s.rank(offers)
	return offers, s.obstacles(kept)
}

// Own are all stages that are the person's and not finished, those first that can be done
// now, each in the order of Next. Why also says what keeps one from being done.
func (s *Search) Own() (own []Offer) {
	for _, o := range s.all() {
		if o.Theirs {
			own = append(own, o)
		}
	}
	s.rank(own)
	for i, o := range own {
		if o.against != nil {
			own[i].Why = o.against.Text
		}
	}
	return own
}

// Here refuses a person who does not belong to the shop now. Fault: PERSON_INACTIVE.
func (s *Search) Here() error { return s.Person.there(s.Now) }

// See puts a piece's plan as it is now in the place of what was read of it before.
func (s *Search) See(plan Plan) {
	i := slices.IndexFunc(s.Open, func(p OpenPiece) bool { return p.Piece.ID == plan.Piece.ID })
	if i < 0 {
		s.Open = append(s.Open, OpenPiece{Plan: plan})
		return
	}
	s.Open = slices.Clone(s.Open)
	s.Open[i].Plan = plan
}

// Claim gives the offer of a stage of a piece that was seen, if the person may have it. Faults:
// STAGE_NOT_FOUND,
// PIECE_SCRAPPED, STAGE_FINISHED, PERSON_INACTIVE, and what keeps it from them: STAGE_NOT_READY,
// PART_AWAY, STAGE_OF_ANOTHER, STAGE_IN_BATCH, SKILL_MISSING, PART_NOT_READY, and of lead, wood,
// air and stations as ClockOn.
func (s *Search) Claim(piece, stage id.ID) (Offer, error) {
	at := slices.IndexFunc(s.Open, func(p OpenPiece) bool { return p.Piece.ID == piece })
	if _, err := s.Open[at].open(stage); err != nil {
		return Offer{}, err
	}
	if err := s.Person.there(s.Now); err != nil {
		return Offer{}, err
	}
	all := s.all()
	o := all[slices.IndexFunc(all, func(o Offer) bool { return o.Stage.ID == stage })]
	if o.against != nil {
		return o, o.against
	}
	could := slices.DeleteFunc(all, func(o Offer) bool { return o.against != nil })
	s.rank(could)
	return could[slices.IndexFunc(could, func(o Offer) bool { return o.Stage.ID == stage })], nil
}

// all are the stages of the shop that are not finished, with what keeps each from the person.
func (s *Search) all() (out []Offer) {
	usual := s.usualValue()
	for i := range s.Open {
		p := &s.Open[i]
		ahead := p.ahead()
		for _, stage := range p.Stages {
			if stage.Finished() {
				continue
			}
			state, wait := p.State(stage, s.Now)
			o := Offer{Piece: p, Stage: stage, Theirs: stage.Theirs(s.Person.ID), weight: usual, ahead: ahead[stage.ID], closes: wait.Closes, Planned: s.Planned[stage.ID]}
			o.turn = s.turn(o)
			if p.Piece.Value != nil {
				o.weight = max(1, *p.Piece.Value)
			}
			o.against = s.against(o, state, wait)
			out = append(out, o)
		}
	}
	return out
}

// turn is when a stage of the person comes today by the plan that people know; zero: not today, or they know none.
// What they were given since, which that plan does not know, comes now.
func (s *Search) turn(o Offer) time.Time {
	y, m, d := s.Now.Date()
	switch {
	case len(s.Planned) == 0 || !o.Theirs:
		return time.Time{}
	case o.Planned.IsZero():
		return s.Now
	case o.Planned.Before(time.Date(y, m, d+1, 0, 0, 0, 0, s.Now.Location())):
		return o.Planned
	}
	return time.Time{}
}

// against is what keeps a stage from the person now; nil: nothing does.
func (s *Search) against(o Offer, state State, wait Wait) *fault.Fault {
	stage, p := o.Stage, o.Piece
	switch {
	case p.waits(stage):
		return fault.Of(notReady(stage, p.openBefore(stage)))
	case p.isAway(stage):
		return fault.Of(away(stage))
	case !o.Theirs && (stage.Assignee != id.Nil || state == InWork):
		return fault.Of(p.ofAnother(stage, s.Person))
	case !o.Theirs && stage.Batch != id.Nil:
		return fault.New(fault.Precondition, "STAGE_IN_BATCH", "%s is run in the batch %q. Clock on at the batch, or take it out of that or dissolve that first.", stage.Title(), s.Batches[stage.Batch])
	}
	if err := s.Person.may(stage, s.Now); err != nil {
		return fault.Of(err)
	}
	if state == Drying {
		return stage.wet(wait.Until.Likely, s.Now)
	}
	return s.site(p, stage)
}

// ofAnother is the refusal of a stage that others have or are at.
func (p *Plan) ofAnother(s Stage, person Person) error {
	who := s.heldBy()
	if s.Assignee == id.Nil {
		who = listed(p.OnIt[s.ID])
	}
	return ofAnother(s, who, person)
}

// site is what of the part, the air and the stations keeps a stage from being begun.
func (s *Search) site(p *OpenPiece, stage Stage) *fault.Fault {
	ground := p.Ground
	if air, read := s.Airs[stage.Zone]; read {
		ground.Air = &air
	}
	if _, err := ground.MayStart(stage, s.Now, ""); err != nil {
		return fault.Of(err)
	}
	places := s.Places
	places.Used = s.usedBeside(stage.Product)
	begin := []Started{{Entry: Entry{Start: s.Now}}}
	facts := []Facts{{Piece: p.Piece, Stage: stage, Person: s.Person}}
	return fault.Of(places.Settle(s.Station, facts, begin, "", func() id.ID { return id.Nil }))
}

// usedBeside is the last work at each station with another product.
func (s *Search) usedBeside(product id.ID) map[id.ID]Used {
	used := map[id.ID]Used{}
	for _, u := range s.Used {
		if last, known := used[u.Station]; u.Product != product && (!known || later(u.Until, last.Until)) {
			used[u.Station] = u.Used
		}
	}
	return used
}

// NothingToClaim is the refusal of somebody for whom there is nothing to do now, with what
// would have to be otherwise.
func NothingToClaim(p Person, obstacles []sentence.Sentence) error {
	text := "Nothing waits to be done in the shop."
	if len(obstacles) > 0 {
		text = sentence.Text(obstacles)
	}
	return fault.New(fault.Precondition, "NOTHING_TO_CLAIM", "There is nothing for %s to do now. %s", p.Name, text)
}
