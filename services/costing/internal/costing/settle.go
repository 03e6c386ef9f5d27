package costing

import (
	"cmp"
	"slices"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// GroupKind is what kind of thing several events together decide.
type GroupKind string

// The kinds of group, and what their id is.
const (
	NoGroup GroupKind = ""
	Place   GroupKind = "place"   // where the cost of a piece stands: the piece
	Machine GroupKind = "machine" // what a stage carries by the machine hour: the stage
	PayWeek GroupKind = "week"    // what a person's workweek comes to beside its hours: from person and Monday
)

// Group is something that several events together decide. Which lines it comes to is a function of
// all that is known of it; as more becomes known, the difference is posted.
type Group struct {
	Kind GroupKind
	ID   id.ID
}

// Dated is a line at an instant of its own.
type Dated struct {
	At time.Time
	Line
}

// Cause is what made a group come to something else: the last of the batch's transactions or facts
// about it.
type Cause struct {
	ID         id.ID // of the transaction or fact; nothing settles a group twice
	Event      id.ID
	RecordedAt time.Time
}

// after reports whether c came after d.
func (c Cause) after(d Cause) bool {
	return cmp.Or(c.RecordedAt.Compare(d.RecordedAt), id.Compare(c.ID, d.ID)) > 0
}

// Settle posts what a group should come to beyond what is posted of it: one transaction for each
// instant at which something differs.
func (b *Book) Settle(g Group, cause Cause, posted, want []Dated) {
	sums := map[Dated]money.Amount{}
	for _, d := range want {
		sums[d.key()] += d.Amount
	}
	for _, d := range posted {
		sums[d.key()] -= d.Amount
	}
	var open []Dated
	for d, amount := range sums {
		if d.Amount = amount; amount != 0 {
			open = append(open, d)
		}
	}
	slices.SortFunc(open, compareDated)
	for n := 0; len(open) > 0; n++ {
		at := open[0].At
		t := Transaction{ID: id.From(g.ID, cause.ID, nth(n)), Event: cause.Event, Group: g, OccurredAt: at, RecordedAt: cause.RecordedAt}
		for len(open) > 0 && open[0].At.Equal(at) {
			t.Lines, open = append(t.Lines, open[0].Line), open[1:]
		}
		b.Post(t)
	}
}

// key is the line without its amount, at an instant that can be compared.
func (d Dated) key() Dated {
	d.At, d.Amount = d.At.UTC().Round(0), 0
	return d
}

// compareDated orders lines by their instant; of one instant debits come first.
func compareDated(a, b Dated) int {
	return cmp.Or(a.At.Compare(b.At), cmp.Compare(b.Amount, a.Amount), cmp.Compare(a.Account, b.Account), cmp.Compare(a.Bucket, b.Bucket),
		id.Compare(a.Piece, b.Piece), id.Compare(a.Person, b.Person), id.Compare(a.Stage, b.Stage), cmp.Compare(a.StageKind, b.StageKind), compareBool(a.Again, b.Again))
}

func compareBool(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// nth is a number as part of a derived id.
func nth(n int) (i id.ID) {
	i[15], i[14], i[13] = byte(n), byte(n>>8), byte(n>>16)
	return i
}
