package costing

import "tackfree/pkg/id"

// tellClosed says of the close of a month what became of the overhead that was carried too little or too
// much, and why one was taken back. It is told by the event and not by the rule: a close has lines of nothing
// left out, so that others' stand where it books.
func tellClosed(told []Told, closes []Close) {
	words := map[id.ID]string{}
	for _, c := range closes {
		words[c.ID] = c.words()
		if c.Reopened != nil {
			words[c.Reopened.ID] = c.name() + " is taken back: " + c.Reopened.Reason
		}
	}
	for i, l := range told {
		if says, settles := words[l.Event]; settles && l.Group.Kind == NoGroup {
			told[i].Says = says
		}
	}
}

// name is what a close is called, as "The close of March 2026".
func (c Close) name() string { return "The close of " + c.Month.First.Format("January 2006") }

// words say what became of what the close found.
func (c Close) words() string {
	under, prorated := c.Under(), c.Settlement == Prorated
	switch {
	case under == 0:
		return c.name() + ": pieces carried as much overhead as was really spent."
	case under > 0 && prorated:
		return c.name() + ": what overhead was carried too little goes to the pieces that carried it."
	case under > 0:
		return c.name() + ": what overhead was carried too little goes to cost of what was sold."
	case prorated:
		return c.name() + ": what overhead was carried too much comes off the pieces that carried it."
	}
	return c.name() + ": what overhead was carried too much comes off the cost of what was sold."
}
