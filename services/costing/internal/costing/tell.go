package costing

import (
	"slices"
	"strings"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/ledger"
)

// Posted is a line as it stands in the ledger, with what is known of what it is about.
type Posted struct {
	Line
	Transaction id.ID
	Number      int16 // in its transaction
	Event       id.ID
	Group       Group
	OccurredAt  time.Time
	RecordedAt  time.Time
	Position    int64     // in the order in which the books took things in
	CountsOn    time.Time // the calendar day; zero: nobody asked
	Tag         int32     // of the piece; 0: intake has not told it
	PersonName  string    // empty: it is nobody's
	StageKey    string    // empty: not told
	PartLabel   string
	Start, End  time.Time // of a stretch of labour; zero: of none, or not known of which
}

// Told is a posted line in words.
type Told struct {
	Posted
	Says        string // what kind of thing it is
	FollowsFrom string // of what several events decide: of what; else empty
}

// Tell says in words what posted lines are: sides are all lines of their transactions, labour is what
// their events told of, spent is the overhead that was entered with them, reasons are why their
// events put a price right, by the event, and closes are those of months that may be their events.
func (r *Rules) Tell(lines []Posted, sides []Posted, labour []Stretch, spent []OverheadActual, reasons map[id.ID]string, closes []Close) []Told {
	of, told := map[id.ID][]Posted{}, make([]Told, len(lines))
	for _, s := range sides {
		of[s.Transaction] = append(of[s.Transaction], s)
	}
	work := map[id.ID][]Stretch{}
	for _, s := range labour {
		work[s.ID] = append(work[s.ID], s)
	}
	for i, l := range lines {
		told[i] = r.tell(l, of[l.Transaction], work[l.Event])
	}
	tellSpent(told, spent)
	tellCorrected(told, reasons)
	tellClosed(told, closes)
	return told
}

// tellSpent says what was entered as overhead in the words in which it was.
func tellSpent(told []Told, spent []OverheadActual) {
	words := map[id.ID]string{}
	for _, a := range spent {
		words[a.ID] = a.words()
	}
	for i := range told {
		if says, entered := words[told[i].Transaction]; entered {
			told[i].Says = says
		}
	}
}

// tellCorrected says of a price that was put right whether a line takes the old one away or adds the
// new one, and why.
func tellCorrected(told []Told, reasons map[id.ID]string) {
	for i, l := range told {
		reason, corrected := reasons[l.Event]
		switch {
		case !corrected || l.Group.Kind != NoGroup:
		case l.Transaction == l.Event:
			told[i].Says = "A correction gives the price anew (" + reason + "). " + l.Says
		default:
			told[i].Says = "A correction takes the price away (" + reason + "). " + strings.TrimPrefix(l.Says, anotherAmount)
		}
	}
}

func (r *Rules) tell(l Posted, sides []Posted, labour []Stretch) Told {
	t := Told{Posted: l}
	if l.Group.Kind != NoGroup {
		t.Says, t.FollowsFrom = r.sayGroup(l), r.followsFrom(l)
		return t
	}
	rule := r.ruleOf(l, sides)
	t.Says = rule.Says
	if l.Person != id.Nil {
		t.labour(labour)
		return t
	}
	switch {
	case rule.Name == "sold" && slices.ContainsFunc(sides, func(s Posted) bool { return s.Bucket == Earned && s.Amount > 0 }):
		t.Says = "A sale is taken back, or a part of its price."
	case rule.Name == "deposit_returned" && slices.ContainsFunc(sides, func(s Posted) bool { return s.Bucket == Earned }):
		t.Says = r.Rule("deposit_used").Says // on the same accounts, but beside a sale
	case l.Transaction == l.Event:
	default:
		t.Says = anotherAmount + t.Says
	}
	return t
}

// anotherAmount says of what is booked under an event without being the event itself why it is there.
const anotherAmount = "It turns out to have cost another amount. "

// labour says which stretch a line is of, and whether it takes one away or prices it anew.
func (t *Told) labour(stretches []Stretch) {
	direct := slices.IndexFunc(stretches, func(s Stretch) bool { return s.name(s.ID) == t.Transaction })
	of := direct
	if direct < 0 && len(stretches) == 1 {
		of = 0
	}
	switch {
	case direct < 0:
		t.Says = "A rate that was told later prices it anew. " + t.Says
	case stretches[direct].Sign < 0:
		t.Says = "A correction takes it away. " + t.Says
	}
	if of < 0 {
		return
	}
	s := stretches[of]
	t.Start, t.End = s.Start, s.End
	for known, word := range map[*string]string{&t.PersonName: s.PersonName, &t.StageKey: s.StageKey, &t.PartLabel: s.PartLabel} {
		if *known == "" {
			*known = word
		}
	}
}

// Groups of the ledger in words, and the rules that book in them.
var groupWords = map[GroupKind]struct {
	says  string
	rules []string
}{
	Place:     {"The cost of the piece goes to where it stands now.", nil},
	Machine:   {"A machine hour carries its share of rent, power and tools.", nil},
	JointCost: {"What was bought together at one price is split.", nil},
	PayWeek: {"What a workweek comes to beside its hours.", []string{"paid_break", "clock_rounded", "premium", "premium_again", "premium_on_no_piece", "premium_as_overhead",
		"burden", "burden_again", "burden_on_no_piece", "burden_as_overhead"}},
}

// sayGroup says what a line of a group is: by its rule if only one of the group's books there.
func (r *Rules) sayGroup(l Posted) string {
	words := groupWords[l.Group.Kind]
	var says []string
	for _, name := range words.rules {
		if rule := r.Rule(name); books(rule, l) {
			says = append(says, rule.Says)
		}
	}
	if len(says) == 1 {
		return says[0]
	}
	if words.says == "" {
		return "Several events decide it together."
	}
	return words.says
}

func (r *Rules) followsFrom(l Posted) string {
	switch l.Group.Kind {
	case Place:
		return "the costs, stages and sales of the piece"
	case Machine:
		return "all work on the stage"
	case JointCost:
		return "the purchase and what its pieces count for"
	case PayWeek:
		week := WeekOf(dayIn(l.OccurredAt, r.zone()), r.zone())
		return "the workweek of " + week.Monday.Format(time.DateOnly) + " and its pay rule"
	}
	return "several events"
}

// ruleOf finds the rule by which a line of a transaction of one event was booked: the first one, by name,
// whose lines stand one after the other where the line is; or else one that books there at all.
func (r *Rules) ruleOf(l Posted, sides []Posted) *ledger.Rule {
	var some *ledger.Rule
	for _, name := range r.Rules() {
		rule := r.Rule(name)
		if r.ofGroups(name) {
			continue
		}
		if standsIn(rule, l, sides) {
			return rule
		}
		if some == nil && books(rule, l) {
			some = rule
		}
	}
	if some == nil {
		return &ledger.Rule{Says: r.Entry(l.Account).Title + "."}
	}
	return some
}

// ofGroups reports a rule that books in groups alone.
func (r *Rules) ofGroups(name string) bool {
	switch name {
	case "paid_break", "clock_rounded", "premium", "premium_again", "premium_on_no_piece", "premium_as_overhead", "burden_as_overhead",
		"stands_finished", "stands_sold", "stands_lost":
		return true
	}
	return false
}

// books reports whether a rule books on the line's account and its line of the sheet.
func books(rule *ledger.Rule, l Posted) bool {
	return rule != nil && slices.Contains(rule.Accounts(), ledger.Line{Account: l.Account, Sheet: string(l.Bucket)})
}

// standsIn reports whether a rule's lines stand one after the other in a transaction, and the line is one of them.
func standsIn(rule *ledger.Rule, l Posted, sides []Posted) bool {
	lines := rule.Accounts()
	for from := 0; from+len(lines) <= len(sides); from++ {
		here := sides[from : from+len(lines)]
		same := slices.EqualFunc(lines, here, func(a ledger.Line, b Posted) bool { return a.Account == b.Account && a.Sheet == string(b.Bucket) })
		if same && slices.ContainsFunc(here, func(s Posted) bool { return s.Number == l.Number }) {
			return true
		}
	}
	return false
}

// Describe says what a transaction is: what its lines are, each thing once.
func Describe(lines []Told) string {
	var says []string
	for _, l := range lines {
		if !slices.Contains(says, l.Says) {
			says = append(says, l.Says)
		}
	}
	return strings.Join(says, " ")
}
