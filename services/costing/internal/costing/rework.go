package costing

import (
	"maps"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
)

// ReworkBy is by what rework is told apart.
type ReworkBy string

// The ways to tell rework apart.
const (
	AgainByStageKind   ReworkBy = "stage_kind"
	AgainByDefect      ReworkBy = "defect"
	AgainByFirstWorker ReworkBy = "first_worker"
	AgainByPiece       ReworkBy = "piece"
	AgainByMonth       ReworkBy = "month"
	AgainBySource      ReworkBy = "source"   // of the fault of what came back
	AgainByComeback    ReworkBy = "comeback" // of a sold piece
)

// Reworked is all that is known of what was done again.
type Reworked struct {
	Spent     []SpentAgain
	Passes    map[id.ID][]Pass // by piece
	Hands     map[id.ID][]Hand // on first passes; likewise
	Pieces    map[id.ID]Origin
	Comebacks map[id.ID]Comeback // by each stage that mends it
}

// By adds it up: lines in one order always, and all together.
func (w Reworked) By(way ReworkBy, r *Rules) ([]ReworkCost, ReworkCost) {
	var parts []portion[ReworkCost]
	switch way {
	case AgainByDefect:
		parts = shared(w.Spent, r, w.because, w.defects)
	case AgainByFirstWorker:
		parts = shared(w.Spent, r, w.stage, w.workers)
	default:
		for _, s := range w.Spent {
			parts = append(parts, portion[ReworkCost]{w.of(s, way, r.zone()), r.bears(s)})
		}
	}
	return sumBy(parts, (*ReworkCost).add, func(l *ReworkCost, o Of) { l.Of = o })
}

// of is what a thing that is one's alone counts with.
func (w Reworked) of(s SpentAgain, way ReworkBy, zone *time.Location) Of {
	switch way {
	case AgainByPiece:
		return ofPiece(s.Piece, w.Pieces[s.Piece].Tag, w.Pieces[s.Piece].Title)
	case AgainByMonth:
		return ofMonth(s.OccurredAt, zone)
	case AgainBySource:
		return w.source(s)
	case AgainByComeback:
		return w.comeback(s)
	}
	return ofWord(s.StageKind)
}

// shareOf is the part of something that somebody or something bears.
type shareOf struct {
	of     Of
	weight int64
}

// shared adds up what belongs together and then splits it once; what nobody is known to bear is nobody's.
func shared[K comparable](spent []SpentAgain, r *Rules, together func(SpentAgain) K, shares func(K) []shareOf) (parts []portion[ReworkCost]) {
	sums := map[K]*ReworkCost{}
	var keys []K
	for _, s := range spent {
		k := together(s)
		if sums[k] == nil {
			sums[k], keys = &ReworkCost{}, append(keys, k)
		}
		sums[k].add(r.bears(s))
	}
	for _, k := range keys {
		bearers := shares(k)
		if len(bearers) == 0 {
			bearers = []shareOf{{Of{}, 1}}
		}
		weights := make([]int64, len(bearers))
		for i, b := range bearers {
			weights[i] = b.weight
		}
		for i, share := range sums[k].split(weights) {
			parts = append(parts, portion[ReworkCost]{bearers[i].of, share})
		}
	}
	return parts
}

// passOf is a pass by its place among those of its piece; none: it is not known which.
type passOf struct {
	piece id.ID
	n     int
}

const none = -1

// because finds the pass that something is of: the last time before it that its stage was sent back, or,
// where no stage was told, one of its kind, or else any of the piece.
func (w Reworked) because(s SpentAgain) passOf {
	found, all := none, w.Passes[s.Piece]
	for n, p := range all {
		same := p.Stage == s.Stage || s.Stage == id.Nil && (p.Kind == s.StageKind || s.StageKind == "")
		if same && !p.At.After(s.WorkedAt) && (found == none || p.At.After(all[found].At)) {
			found = n
		}
	}
	if found == none {
		return passOf{n: none}
	}
	return passOf{s.Piece, found}
}

// defects are what a pass was sent back for, each kind by how often it was found.
func (w Reworked) defects(pass passOf) (out []shareOf) {
	if pass.n == none {
		return nil
	}
	often := map[string]int64{}
	for _, kind := range w.Passes[pass.piece][pass.n].Defects {
		often[kind]++
	}
	for _, kind := range slices.Sorted(maps.Keys(often)) {
		out = append(out, shareOf{ofWord(kind), often[kind]})
	}
	return out
}

// stageOf is a stage of a piece; where none was told, its kind may be.
type stageOf struct {
	piece, stage id.ID
	kind         string
}

func (w Reworked) stage(s SpentAgain) stageOf { return stageOf{s.Piece, s.Stage, s.StageKind} }

// workers are those who did the first pass of a stage, by their hours.
func (w Reworked) workers(on stageOf) []shareOf {
	hours, names := map[id.ID]int64{}, map[id.ID]string{}
	for _, h := range w.Hands[on.piece] {
		if h.Stage == on.stage || on.stage == id.Nil && (h.StageKind == on.kind || on.kind == "") {
			hours[h.Person] += h.Time.Milliseconds()
			names[h.Person] = h.Name
		}
	}
	var out []shareOf
	for _, person := range inOrder(hours) {
		out = append(out, shareOf{Of{Key: person.String(), Title: names[person], order: names[person] + " " + person.String()}, hours[person]})
	}
	return out
}

// bearers are the rules that book what is done again, in a group of the ledger, and what each is of:
// whatever bears the other side of it tells them apart.
var bearers = map[GroupKind][]struct {
	rule string
	of   func(*ReworkCost) *money.Amount
}{
	NoGroup: {
		{"labour_again", func(w *ReworkCost) *money.Amount { return &w.Labour }},
		{"burden_again", func(w *ReworkCost) *money.Amount { return &w.Burden }},
		{"overhead_again", func(w *ReworkCost) *money.Amount { return &w.Overhead }},
		{"material_used_again", func(w *ReworkCost) *money.Amount { return &w.Material }},
		{"outside_work_again", func(w *ReworkCost) *money.Amount { return &w.Outside }},
	},
	PayWeek: {
		{"premium_again", func(w *ReworkCost) *money.Amount { return &w.Premium }},
		{"burden_again", func(w *ReworkCost) *money.Amount { return &w.Burden }},
	},
}

// bears says what of rework something is; of a machine it is overhead. Where the shop's own rules put two
// on one account, it is the first of them.
func (r *Rules) bears(s SpentAgain) (w ReworkCost) {
	w.Time = s.Time
	of := func(w *ReworkCost) *money.Amount { return &w.Overhead }
	for _, b := range slices.Backward(bearers[s.Group]) {
		if slices.ContainsFunc(r.Rule(b.rule).Accounts(), func(l ledger.Line) bool { return l.Account == s.Account && l.Sheet == "" }) {
			of = b.of
		}
	}
	*of(&w) = s.Amount
	return w
}

// Wages are the accounts that bear the pay for work on pieces.
func (r *Rules) Wages() []string { return r.others("labour", "labour_again") }

// Shelves are the accounts from which material goes to pieces.
func (r *Rules) Shelves() []string { return r.others("material_used", "material_used_again") }

// others are the accounts on which rules book what counts in no line of a cost sheet.
func (r *Rules) others(rules ...string) (accounts []string) {
	for _, name := range rules {
		for _, l := range r.Rule(name).Accounts() {
			if l.Sheet == "" && !slices.Contains(accounts, string(l.Account)) {
				accounts = append(accounts, string(l.Account))
			}
		}
	}
	return accounts
}
