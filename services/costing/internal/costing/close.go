package costing

import (
	"slices"
	"time"

	"tackfree/pkg/apportion"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/ledger"
	"tackfree/pkg/money"
)

// Settlement is what becomes of overhead that pieces carried too little of, or too much.
type Settlement string

// The settlements.
const (
	ToSold   Settlement = "cost_of_goods_sold" // it is cost of goods sold, in one line
	Prorated Settlement = "prorated"           // each piece gets its part
)

// Close is a month that was closed: costing's own record, which a rebuild keeps and posts again.
type Close struct {
	ID           id.ID
	Month        Month
	Since        time.Time // the first calendar day that it counts; of the first close ever it may be of a month before
	Follows      id.ID     // the taking back after which the month was closed again; id.Nil: it was closed for the first time
	Settlement   Settlement
	WithIndirect bool // labour on no piece counts as overhead that was really spent
	// What it has counted: overhead that pieces carried, what was really spent, labour on no piece.
	Applied, Actual, Indirect money.Amount
	Shares                    []Share
	Counted                   []ledger.Balance // what it came to by account, and always will
	Late                      []ledger.Balance // of that, what is of days before Since
	Days                      []Day            // the rest of it by day; told by Count alone
	Earlier                   []Day            // of the first close: what is of months before its own, each by its first day
	Actor                     string
	At                        time.Time
	Reopened                  *Reopening // nil: it is in force
}

// Day is what was counted of a calendar day.
type Day struct {
	Day     time.Time
	Counted []ledger.Balance
}

// Reopening is a close taken back. What the close has settled is reversed, what it has counted is kept
// and counts no more.
type Reopening struct {
	ID     id.ID
	Reason string
	Actor  string
	At     time.Time
}

// InForce leaves out the closes that were taken back.
func InForce(closes []Close) (out []Close) {
	for _, c := range closes {
		if c.Reopened == nil {
			out = append(out, c)
		}
	}
	return out
}

// Share is a piece's part of the overhead that was carried too little, or too much.
type Share struct {
	Piece  id.ID
	Again  bool // all that it carried was of work done again
	Amount money.Amount
}

// NewClose says what a month that is closed has to settle: figures are what it comes to with what is late.
func NewClose(m Month, s Settlement, withIndirect bool, figures Figures) Close {
	return Close{ID: id.New(), Month: m, Since: m.First, Settlement: s, WithIndirect: withIndirect,
		Applied: -figures[OverheadApplied], Actual: figures[OverheadSpent], Indirect: figures[IndirectLabour]}
}

// Under is the overhead that pieces carried too little of; below zero, too much.
func (c Close) Under() money.Amount { return c.Spent() - c.Applied }

// Spent is the overhead that was really spent, with labour on no piece where that is taken for overhead.
func (c Close) Spent() money.Amount {
	if c.WithIndirect {
		return c.Actual + c.Indirect
	}
	return c.Actual
}

// Midnights cut the books into what Count takes: before the days that are counted, each of them, and
// what comes after.
func (c Close) Midnights(zone *time.Location) (at []time.Time) {
	for n := 0; len(at) == 0 || at[len(at)-1].Before(c.Month.To); n++ {
		at = append(at, midnight(c.Since, n, zone))
	}
	return at
}

// Count notes what it comes to for good: all up to the month's end, its own lines included, less what
// the closes before have counted. Parts are what happened between its midnights, 0 being before the
// first of them.
func (c *Close) Count(m *Months, parts map[int][]ledger.Balance, zone *time.Location) {
	late := Figures{}.With(parts[0])
	for _, before := range m.closes {
		late.add(before.Counted, -1)
	}
	c.Late = late.Balances()
	all := Figures{}.With(c.Late)
	for n := range len(c.Midnights(zone)) - 1 {
		if happened := parts[n+1]; len(happened) > 0 {
			all.add(happened, 1)
			c.Days = append(c.Days, Day{c.Since.AddDate(0, 0, n), happened})
		}
	}
	c.Counted = all.Balances()
}

// Carried is the overhead that a piece carried in a month, on first passes and on later ones.
type Carried struct {
	Piece        id.ID
	First, Again money.Amount
}

// Prorate gives pieces their parts, by the overhead that each carried in the month, by largest
// remainders; of two alike the piece with the lower id. A part is overhead of the piece, or rework
// if the piece carried none but of rework. Fault: NOTHING_TO_PRORATE.
func (c *Close) Prorate(carried []Carried) error {
	slices.SortFunc(carried, func(a, b Carried) int { return id.Compare(a.Piece, b.Piece) })
	carried = slices.DeleteFunc(carried, func(p Carried) bool { return p.First+p.Again <= 0 })
	if len(carried) == 0 && c.Under() != 0 {
		return fault.New(fault.Precondition, "NOTHING_TO_PRORATE", "No piece carried overhead in %s, so there is nothing by which to part it. Close the month to cost of goods sold (--to cost-of-goods-sold); or, if pieces worked on then should have carried some, set an overhead rate from a day of that month or before (cost overhead set), and close the month after that.", c.Month).At("settlement")
	}
	weights := make([]int64, len(carried))
	for i, p := range carried {
		weights[i] = int64(p.First + p.Again)
	}
	for i, part := range apportion.Split(c.Under(), weights) {
		if part != 0 {
			c.Shares = append(c.Shares, Share{carried[i].Piece, carried[i].First <= 0, part})
		}
	}
	return nil
}

// lastMoment is how long before its end a month is settled: books count in milliseconds.
const lastMoment = time.Millisecond

// CloseMonth books what the close of a month settles, at the month's last moment. A part that a piece
// gets is one more cost of it, and goes to where its cost stands.
func (b *Book) CloseMonth(c Close) { b.settleMonth(c, c.ID, c.At, 1) }

// ReopenMonth books the opposite of what a close has settled, at the same moment.
func (b *Book) ReopenMonth(c Close) { b.settleMonth(c, c.Reopened.ID, c.Reopened.At, -1) }

func (b *Book) settleMonth(c Close, event id.ID, recordedAt time.Time, sign money.Amount) {
	f := Fact{ID: event, OccurredAt: c.Month.To.Add(-lastMoment), RecordedAt: recordedAt}
	applied := c.Applied
	for _, s := range c.Shares {
		rule := "overhead"
		if s.Again {
			rule = "overhead_again"
		}
		b.Post(f.about(s.Piece, b.rules.lines(rule, Line{Piece: s.Piece, Again: s.Again}, sign*s.Amount)...))
		applied += s.Amount
	}
	indirect := c.Indirect
	if !c.WithIndirect {
		indirect = 0
	}
	lines := slices.DeleteFunc(b.rules.lines("month_closed", Line{}, sign*applied, sign*c.Actual, sign*indirect), func(l Line) bool { return l.Amount == 0 })
	if len(lines) > 0 {
		b.Post(f.transaction(lines...))
	}
}
