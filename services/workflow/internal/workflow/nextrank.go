package workflow

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/id"
)

// The order in which stages are best done goes by the apparent tardiness cost of A. P. J.
// Vepsalainen and T. E. Morton, Priority rules for job shops with weighted tardiness costs,
// Management Science 33 (1987) 1035–1047:
//
//	w/p · exp(−max(0, due − now − ahead) / (k·p̄))
//
// what the piece is worth by what the stage takes, the less the more time is to spare. p̄ is
// the mean of what the stages take between which is chosen.
const (
	// lookAhead is k, how far a due date ahead is felt. From memory: the authors and those who
	// came after them tried it from 1.5 to 4.5, and 2 is usual.
	lookAhead = 2
	// leastWork stands for what a stage takes if its plan says less: what takes no time would
	// come before everything. Common practice.
	leastWork = 5 * time.Minute
	// stockHorizon is how far behind the last promise a piece is due that is promised to nobody.
	// Common practice.
	stockHorizon = 30 * 24 * time.Hour
)

// rank gives offers their urgency and puts the best first: what is theirs before the pool, and of that what the plan
// has them begin today, in its order; of two alike what is promised first, then by tag and place in the work.
func (s *Search) rank(offers []Offer) {
	mean, stock := meanWork(offers), s.stockDue(offers)
	for i := range offers {
		o := &offers[i]
		o.Urgency = urgency(o.weight, o.work(), s.slack(*o, stock), mean)
		o.Why = s.why(*o)
	}
	slices.SortFunc(offers, bestFirst)
}

// bestFirst orders offers.
func bestFirst(a, b Offer) int {
	p, q := a.Piece.Piece, b.Piece.Piece
	return cmp.Or(rankOf(a)-rankOf(b), promisedFirst(a.turn, b.turn), cmp.Compare(b.Urgency, a.Urgency), promisedFirst(p.Promised, q.Promised),
		cmp.Compare(p.Tag, q.Tag), cmp.Compare(a.Stage.Position, b.Stage.Position), bytes.Compare(a.Stage.ID[:], b.Stage.ID[:]))
}

// rankOf puts what can be done before what cannot, and what is theirs before the pool.
func rankOf(o Offer) (rank int) {
	if o.against != nil {
		rank += 2
	}
	if !o.Theirs {
		rank++
	}
	return rank
}

// promisedFirst orders instants, as of promises; a zero one, of none, comes last.
func promisedFirst(a, b time.Time) int {
	if a.IsZero() || b.IsZero() {
		return b.Compare(a)
	}
	return a.Compare(b)
}

// work is what the stage takes.
func (o Offer) work() time.Duration { return max(leastWork, o.Stage.Attended) }

func meanWork(offers []Offer) (mean time.Duration) {
	for _, o := range offers {
		mean += o.work()
	}
	return mean / time.Duration(max(1, len(offers)))
}

// urgency is the natural logarithm of the apparent tardiness cost of a stage: the cost itself
// is for stock smaller than any number. slack is what is to spare.
func urgency(weight int64, work, slack, mean time.Duration) float64 {
	return math.Log(float64(weight)/work.Minutes()) - max(0, slack.Minutes())/(lookAhead*mean.Minutes())
}

// stockDue is when pieces are due that are promised to nobody: behind every promise, and by so
// much that not even the longest work and drying of one brings it before what is promised.
func (s *Search) stockDue(offers []Offer) time.Time {
	last, longest := s.Now, time.Duration(0)
	for _, o := range offers {
		last, longest = latest(last, o.Piece.Piece.Promised), max(longest, o.ahead)
	}
	return last.Add(longest + stockHorizon)
}

// slack is what is to spare until the piece is due, with all that is ahead of it; or if that is
// less, until the recoat window of what lies below closes, with this stage alone. After that
// somebody has to scuff it first, so the window is a due date too. stock is when a piece is due
// that is promised to nobody.
func (s *Search) slack(o Offer, stock time.Time) time.Duration {
	due := o.Piece.Piece.Promised
	if due.IsZero() {
		due = stock
	}
	slack := due.Sub(s.Now) - o.ahead
	if o.closes.After(s.Now) {
		slack = min(slack, o.closes.Sub(s.Now)-o.work())
	}
	return slack
}

// ahead is for each stage that is not finished the longest chain of work and drying from it to
// the end of the piece.
func (p *OpenPiece) ahead() map[id.ID]time.Duration {
	ahead := make(map[id.ID]time.Duration, len(p.Stages))
	for _, s := range slices.Backward(p.Stages) { // each stands after those it comes after
		if s.Finished() {
			continue
		}
		ahead[s.ID] += s.Attended + s.Unattended
		for _, before := range s.After {
			ahead[before] = max(ahead[before], ahead[s.ID])
		}
	}
	return ahead
}

// usualValue stands for what pieces are worth of which nobody knows it: the median of those
// that somebody does, of an even number the lower one; 1 where there are none.
func (s *Search) usualValue() int64 {
	var known []int64
	for _, p := range s.Open {
		if p.Piece.Value != nil {
			known = append(known, *p.Piece.Value)
		}
	}
	if len(known) == 0 {
		return 1
	}
	slices.Sort(known)
	return max(1, known[(len(known)-1)/2])
}

// why says why an offer stands where it stands.
func (s *Search) why(o Offer) string {
	var because []string
	if o.Theirs {
		because = append(because, fmt.Sprintf("%s has it already", s.Person.Name))
	}
	p, ahead := o.Piece.Piece, hours(o.ahead)
	switch spare := p.Promised.Sub(s.Now) - o.ahead; {
	case p.Promised.IsZero():
		because = append(because, fmt.Sprintf("piece %d is promised to nobody and has %s of work and drying ahead", p.Tag, ahead))
	case spare < 0:
		because = append(because, fmt.Sprintf("piece %d is promised for %s and has %s of work and drying ahead, which is %s too much", p.Tag, saidLike(p.Promised, s.Now), ahead, hours(-spare)))
	default:
		because = append(because, fmt.Sprintf("piece %d is promised for %s and has %s of work and drying ahead, with %s to spare", p.Tag, saidLike(p.Promised, s.Now), ahead, hours(spare)))
	}
	if o.closes.After(s.Now) {
		because = append(because, fmt.Sprintf("what lies below has to be scuffed first if it is not begun by %s", saidLike(o.closes, s.Now)))
	}
	because[0] = strings.ToUpper(because[0][:1]) + because[0][1:]
	return strings.Join(because, "; ") + "."
}
