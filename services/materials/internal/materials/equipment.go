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

// Runs reports whether the equipment runs during a stint. Two people who work at such stages
// side by side are taken to use it one each.
func (e Equipment) Runs(s Stint) bool {
	return !e.Retired && slices.Contains(e.StageKinds, s.StageKind) && (e.Station == "" || e.Station == s.Station)
}

// Seconds is how long a stint lasted, in whole seconds.
func (s Stint) Seconds() int64 { return int64(s.End.Sub(s.Start) / time.Second) }

// Running is equipment with how long it ran.
type Running struct {
	Equipment
	Total, SinceService time.Duration // whole seconds
	ServicedAt          time.Time     // zero: nobody noted a service
	DueSince            time.Time     // when the stint began in which a service fell due; zero: none is
}

// Cost is what so long costs, at what an hour costs now, rounded once.
func (e Equipment) Cost(ran time.Duration) money.Amount {
	return money.MulDiv(e.HourlyCost, int64(ran/time.Second), 3600)
}

// Due reports whether a service is due: when it ran for as many hours since the last one, not
// only when for more.
func (r Running) Due() bool { return !r.DueSince.IsZero() && !r.Retired }

// ServiceAlert reminds of equipment whose service is due, until one is noted.
const ServiceAlert AlertKind = "equipment service"

// Alert reminds of the service; its words stay the same while it goes on running.
func (r Running) Alert() Alert {
	return Alert{Kind: ServiceAlert, Key: r.ID.String(), Due: r.DueSince,
		Text: fmt.Sprintf("%s ran for %d hours or more since its last service, after which one is due. Service it as its maker says, and note it.", r.Name, r.Every)}
}

// Use is how long equipment ran for a piece, and what that costs.
type Use struct {
	Equipment
	Ran  time.Duration // whole seconds
	Cost money.Amount
}

// CostOf costs what ran for a piece: the sum is rounded once, and split so that the parts add up
// to it, by largest remainders.
func CostOf(uses []Use) (total money.Amount) {
	weights, sum := make([]int64, len(uses)), new(big.Int)
	for i, u := range uses {
		weights[i] = int64(u.Ran/time.Second) * int64(u.HourlyCost)
		sum.Add(sum, big.NewInt(weights[i]))
	}
	total = money.Round(new(big.Rat).SetFrac(sum, big.NewInt(3600)))
	for i, cost := range apportion.Split(total, weights) {
		uses[i].Cost = cost
	}
	return total
}
