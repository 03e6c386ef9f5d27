// Package planner says who does what, where and when: a floor of people and stations, pieces whose
// operations wait for each other, for drying, and for a shift to begin. Trade, pure.
//
//	Problem ─▶ check ─▶ compiled, in slots: blocks of operations that a longest wait ties together
//	   │          ├ Dispatch: block after block, the most urgent of those that can begin first
//	   │          ├ Improve ─▶ search ─▶ seeker: what has no place before the horizon, put in by taking others out
//	   │          │                 └──▶ chains, one a core, that tell each other of the best
//	   │          │                        └ out with some blocks (ruin), in again otherwise (recreate, redispatch),
//	   │          │                          kept by how the cost changed and the temperature; arms learn what helps
//	   │          ├ Replan: a plan that people know, mended, then changed as little as can be, then improved
//	   │          ├ Bound: what no plan can be below
//	   │          └ all by fit: the earliest feasible place of one operation on the floor of lanes (people, in
//	   │                        the time they are there) and rooms (stations, by the clock)
//	   ├──▶ Plan ─▶ Simulate: times by chance over the fixed plan ─▶ Outlook: the chance to keep each promise
//	   │      └───▶ Steady: Improve with promises as much sooner as the plan is late when it is played
//	   └──▶ Explain: the smallest set of constraints that leaves an operation no place
//
// Times are whole minutes after an instant of the caller's. Stretches are half open. Every constraint
// says that something begins no earlier than a monotone function of what begins before it, so that
// pushing a start later and trying again either comes to rest or leaves the horizon.
//
// Source of the model: resource-constrained project scheduling with minimum and maximum time lags
// (Neumann, Schwindt and Zimmermann, Project Scheduling with Time Windows and Scarce Resources, 2003);
// of the priority: apparent tardiness cost (Vepsalainen and Morton, Management Science 33 (1987) 1035-1047);
// of the search: ruin and recreate (Schrimpf, Schneider, Stamm-Wilbrandt and Dueck, Journal of Computational
// Physics 159 (2000) 139-171), with large neighbourhoods put in again by the constructive rule (Shaw, CP 1998,
// 417-431), annealing (Kirkpatrick, Gelatt and Vecchi, Science 220 (1983) 671-680) and weights that adapt (Ropke
// and Pisinger, Transportation Science 40 (2006) 455-472).
package planner

// Minute is a time in whole minutes after the caller's own beginning.
type Minute = int

// Window is a stretch in which something is open or somebody works: [Start, End).
type Window struct{ Start, End Minute }

// Calendar is when somebody works or a station is open: windows in order that do not touch. An empty
// one is never; nil is always.
type Calendar []Window

// Worker is one pair of hands.
type Worker struct {
	ID       string
	Calendar Calendar
}

// Station is where work is done; it holds so many units at a time.
type Station struct {
	ID       string
	Capacity int
	Calendar Calendar
	// Changeover, of a station that holds one thing, is for how many minutes it is taken by cleaning between the end of
	// an operation of one colour and the start of one of another: Changeover[from][to]. So much lies between any two
	// operations of these colours, whatever is done between them; by the clock, for nobody is needed. Of colour 0, and
	// to it, it is 0. Nil: nothing is cleaned.
	Changeover [][]int
}

// NoWorker is the worker of a mode that nobody attends.
const NoWorker = -1

// Mode is a way to do an operation: by whom, and how many minutes it then takes. Unattended ones run
// through nights and breaks.
type Mode struct {
	Worker   int // index into Workers, or NoWorker
	Minutes  int
	Stations []int // those of the operation's that the worker may use; nil: all
}

// Operation is one thing to do on a piece.
type Operation struct {
	ID         string
	Piece      int    // index into Pieces
	Modes      []Mode // one at least
	Stations   []int  // one of these holds it meanwhile; none: it needs none
	Demand     int    // units of the station
	Colour     int    // index into the station's Changeover; 0: none that matters
	Splittable bool   // work may pause where a shift ends; who does it and where it stands stay taken
	With       []int  // workers whose hands it takes beside, for as long as it lasts
	// Pinned ones are placed before all others, with what they wait for, the earliest first.
	Pinned bool
	// Earliest is before when it does not begin, whatever else: a pin, or what it waits for beside other operations.
	Earliest Minute
}

// Forever is the longest wait of a lag that has none.
const Forever = -1

// Lag makes an operation wait for another: from the end of the one to the start of the other at least Min
// minutes, and no more than Max; both by the clock on the wall, for drying goes on at night.
type Lag struct {
	From, To int // indices into Operations
	Min, Max int // Max: Forever, or at least Min
}

// Piece is what operations are done on.
type Piece struct {
	ID      string
	Release Minute  // nothing begins before
	Due     Minute  // promised; NoDue: not
	Weight  float64 // what a minute of tardiness, or of waiting, costs against others'; above 0
}

// NoDue is when a piece is due that nobody promised.
const NoDue = 1 << 40

// Slot is where and when an operation is done.
type Slot struct {
	Worker     int // index, or NoWorker
	Station    int // index, or NoStation
	Start, End Minute
}

// NoStation is the station of an operation that needs none.
const NoStation = -1

// Fixed is an operation that has begun or is pinned: it keeps its slot, whatever calendars say.
type Fixed struct {
	Operation int
	Slot
}

// Problem is a floor to plan.
type Problem struct {
	Now, Horizon Minute // nothing that is not fixed begins before the one, or ends after the other; at most 2^30 apart
	Workers      []Worker
	Stations     []Station
	Pieces       []Piece
	Operations   []Operation
	Lags         []Lag
	Fixed        []Fixed
}

// Plan is a slot for each operation, by its index.
type Plan struct {
	Slots     []Slot
	Objective Objective
	// Missed are lags (indices) whose longest wait could not be kept, because what came before had
	// begun too long ago: of a recoat window, the film is scuffed first.
	Missed []int
	// Left are operations (indices) that fit nowhere before the horizon; their slots are zero.
	Left []Unplaced
}

// Unplaced is an operation that fits nowhere, and why.
type Unplaced struct {
	Operation int
	Why       Why
}

// Why is the first constraint in the way of an operation.
type Why int

// The reasons.
const (
	AfterHorizon Why = iota // there is no free time long enough before the horizon
	NobodyCan               // it has no mode, or nobody of its modes ever works long enough at a stretch
	BeforeIt                // an operation before it fits nowhere
)

// Objective is what a plan costs, the first first.
type Objective struct {
	Tardiness float64 // weight × minutes after the promise, added up
	Flow      float64 // weight × minutes from release to the end, added up: value that waits
	Makespan  Minute  // when the last operation ends
}

// Less reports whether a plan is better.
func (o Objective) Less(than Objective) bool {
	if o.Tardiness != than.Tardiness {
		return o.Tardiness < than.Tardiness
	}
	if o.Flow != than.Flow {
		return o.Flow < than.Flow
	}
	return o.Makespan < than.Makespan
}
