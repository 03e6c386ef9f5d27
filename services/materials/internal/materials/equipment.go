package materials

import (
	"fmt"
	"math/big"
	"slices"
	"time"

	"tackfree/pkg/apportion"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// Equipment is what runs while stages are done: a sprayer, a sander, a compressor …
type Equipment struct {
	ID         id.ID
	Name       string
	Kind       string
	HourlyCost money.Amount // wear, power, filters
	Every      int32        // so many hours a service is due; 0: it needs none
	StageKinds []string     // the stages it runs at
	Station    string       // its word: it runs only there; empty: wherever such a stage is done
	Retired    bool         // it runs no more
	Starting   int32        // hours that it had run before the shop wrote it down
	Version    int64
}

// Service is that equipment was seen to.
type Service struct {
	ID       id.ID
	At       time.Time
	By       string // a name or a firm
	Note     string
	CostNote string // as people wrote it; the books do not know of it
	Actor    string
}

// Stint is a closed stretch of somebody's work on a stage of a piece. One that was corrected is
// another stint.
type Stint struct {
	Entry      id.ID
	Piece      id.ID
	StageKind  string
	Station    string // its word; empty: nobody said
	Start, End time.Time
}

// Setting is where and at what cost equipment ran between two instants, the later one not
// included. It is kept when people say something else of it, so that hours of before can be
// computed anew from the clocks.
type Setting struct {
	Equipment   id.ID
	From, Until time.Time
	HourlyCost  money.Amount
	StageKinds  []string
	Station     string
	Retired     bool
}

// Stretch is how long equipment ran in one go during a stint, at what an hour cost then.
type Stretch struct {
	Equipment   id.ID
	From, Until time.Time
	HourlyCost  money.Amount
}

// During is when the equipment ran during a stint while the setting held, if it did.
func (t Setting) During(s Stint) (Stretch, bool) {
	out := Stretch{Equipment: t.Equipment, From: s.Start, Until: s.End, HourlyCost: t.HourlyCost}
	if t.From.After(out.From) {
		out.From = t.From
	}
	if t.Until.Before(out.Until) {
		out.Until = t.Until
	}
	return out, t.runs(s) && out.From.Before(out.Until)
}

// runs reports whether it runs at what a stint is.
func (t Setting) runs(s Stint) bool {
	return !t.Retired && slices.Contains(t.StageKinds, s.StageKind) && (t.Station == "" || t.Station == s.Station)
}

// Hours is how long equipment ran at one cost of an hour. What two people did with it at once
// counts once.
type Hours struct {
	HourlyCost money.Amount
	Ran        time.Duration // whole seconds
}

// Running is equipment with how long it ran.
type Running struct {
	Equipment
	Hours        []Hours       // by what an hour cost then
	SinceService time.Duration // whole seconds; where no service was noted, with what it had run before
	ServicedAt   time.Time     // zero: nobody noted a service
	DueSince     time.Time     // when the stint began in which a service fell due; zero: none is
}

// Total is how long it ever ran, with what it had run before the shop wrote it down.
func (r Running) Total() time.Duration { return time.Duration(r.Starting)*time.Hour + ran(r.Hours) }

// Cost is what its hours in the shop cost, each at what an hour cost then, rounded once.
func (r Running) Cost() money.Amount { return roundHours(big.NewInt(weight(r.Hours))) }

func ran(hours []Hours) (sum time.Duration) {
	for _, h := range hours {
		sum += h.Ran
	}
	return sum
}

// weight is what hours cost, 3600 times.
func weight(hours []Hours) (sum int64) {
	for _, h := range hours {
		sum += int64(h.Ran/time.Second) * int64(h.HourlyCost)
	}
	return sum
}

func roundHours(weight *big.Int) money.Amount {
	return money.Round(new(big.Rat).SetFrac(weight, big.NewInt(3600)))
}

// Due reports whether a service is due: when it ran for as many hours since the last one, not
// only when for more.
func (r Running) Due() bool { return !r.DueSince.IsZero() && !r.Retired }

// ServiceAlert reminds of equipment whose service is due, until one is noted.
const ServiceAlert AlertKind = "equipment service"

// Alert reminds of the service; its words stay the same while it goes on running.
func (r Running) Alert() Alert {
	since := "since its last service"
	if r.ServicedAt.IsZero() {
		since = "and no service was noted"
	}
	return Alert{Kind: ServiceAlert, Key: r.ID.String(), Due: r.DueSince,
		Text: fmt.Sprintf("%s ran for %d hours or more %s, so one is due. Service it as its maker says, and note it.", r.Name, r.Every, since)}
}

// Use is how long equipment ran for a piece, and what that costs.
type Use struct {
	Equipment
	Hours []Hours // by what an hour cost then
	Cost  money.Amount
}

// Ran is how long it ran for the piece.
func (u Use) Ran() time.Duration { return ran(u.Hours) }

// CostOf costs what ran for a piece: the sum is rounded once, and split so that the parts add up
// to it, by largest remainders.
func CostOf(uses []Use) (total money.Amount) {
	weights, sum := make([]int64, len(uses)), new(big.Int)
	for i, u := range uses {
		weights[i] = weight(u.Hours)
		sum.Add(sum, big.NewInt(weights[i]))
	}
	total = roundHours(sum)
	for i, cost := range apportion.Split(total, weights) {
		uses[i].Cost = cost
	}
	return total
}
