package jobshop

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// anyCore draws a shop and a first solution of it.
func anyCore(t *rapid.T, modes int) (*core, *solution, *chance) {
	s := &Shop{Machines: rapid.IntRange(1, 4).Draw(t, "machines")}
	for range rapid.IntRange(1, 6).Draw(t, "jobs") {
		var job Job
		for range rapid.IntRange(1, 5).Draw(t, "operations") {
			var o Operation
			for range rapid.IntRange(1, modes).Draw(t, "modes") {
				o.Modes = append(o.Modes, Mode{rapid.IntRange(0, s.Machines-1).Draw(t, "machine"), rapid.IntRange(0, 9).Draw(t, "duration")})
			}
			job.Operations = append(job.Operations, o)
		}
		s.Jobs = append(s.Jobs, job)
	}
	c := compile(s)
	by := chance(rapid.Uint64().Draw(t, "seed"))
	first := c.newSolution()
	c.start(first, c.rests(), &by)
	return c, first, &by
}

// Whatever moves are made, the graph is what it would be if it were made anew from its order.
func TestGraph_KeepsHeadsTailsAndOrderUpToDate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, first, by := anyCore(t, 3)
		g, fresh, now := newGraph(c), newGraph(c), c.newSolution()
		g.load(first)
		for range 30 {
			if m, ok := anyMove(g, by); ok && g.apply(m) {
				g.heads(g.low)
				g.tails(g.high)
			}
			g.save(now)
			fresh.load(now)
			for o := range c.n {
				a, b := g.nodes[o], fresh.nodes[o]
				if a != b || g.at[o] != fresh.at[o] || g.on[o] != fresh.on[o] {
					t.Fatalf("operation %d is %+v at place %d, want %+v at %d", o, a, g.at[o], b, fresh.at[o])
				}
			}
			if !slices.Equal(g.firstOn, fresh.firstOn) || slices.Contains(g.late, true) {
				t.Fatalf("the first operations are %v, want %v", g.firstOn, fresh.firstOn)
			}
		}
	})
}

func anyMove(g *graph, by *chance) (move, bool) {
	op := int32(by.below(g.n))
	mode := g.modeAt[op] + int32(by.below(int(g.modeAt[op+1]-g.modeAt[op])))
	after := int32(by.below(g.n + 1))
	if after == op || (after < int32(g.n) && g.on[after] != g.machine[mode]) {
		return move{}, false
	}
	return move{op, after, mode}, true
}

// What lies between two solutions is one too, and nearer to the other.
func TestRelinker_GoesTowardsTheOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, a, by := anyCore(t, 3)
		b, child := c.newSolution(), c.newSolution()
		c.start(b, c.rests(), by)
		r := newRelinker(c)
		far := r.distance(a, b)
		r.between(a, b, child, by)
		seen := make([]int32, c.jobs)
		for _, o := range child.order {
			j := c.jobOf[o]
			if o != c.first[j]+seen[j] {
				t.Fatalf("operation %d of job %d comes at place %d of its job", o, j, seen[j])
			}
			seen[j]++
		}
		if !c.flexible && r.distance(child, b) > far {
			t.Fatalf("the way of %d has become one of %d", far, r.distance(child, b))
		}
	})
}

// The prover alone says the same as trying every order would: a schedule of the least length there is, none shorter.
func TestProver_RefutesOnlyWhatIsImpossible(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, first, _ := anyCore(t, 1)
		p, found := newProver(c), c.newSolution()
		g := newGraph(c)
		g.load(first)
		best := g.makes
		if bound := p.bound(0, best); bound > best {
			t.Fatalf("bound %d above a schedule of %d", bound, best)
		}
		p.root()
		for v := better; v == better; {
			if v = p.search(best-1, 1<<20, found); v == better {
				g.load(found)
				if int64(g.makes) != found.value || g.makes >= best {
					t.Fatalf("the prover takes a schedule of %d for one of %d, shorter than %d", g.makes, found.value, best)
				}
				best = g.makes
			}
		}
		if p.depth > 0 {
			t.Fatalf("a million nodes were not enough")
		}
		s := newTabu(g, func() *chance { x := chance(1); return &x }())
		for s.begin(first); s.idle() < 2000 && s.step(); {
			if int64(best) > s.best.value {
				t.Fatalf("the prover says that nothing is shorter than %d, but there is a schedule of %d", best, s.best.value)
			}
		}
	})
}

// What a trial says is what the schedule comes to, and a trial leaves nothing behind.
func TestTardy_TriesOutExactly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, first, by := anyCore(t, 3)
		for j := range c.jobs {
			c.weight[j], c.due[j] = int32(1+by.below(4)), int32(by.below(20))
		}
		g := newTardy(newGraph(c), by)
		g.begin(first)
		fresh, now := newTardy(newGraph(c), by), c.newSolution()
		for range 20 {
			m, ok := anyMove(g.graph, by)
			if !ok {
				continue
			}
			before, said := g.costs, g.trial(m)
			if g.cost() != before {
				t.Fatalf("a trial leaves a schedule of %d behind, not of %d", g.cost(), before)
			}
			if !g.apply(m) {
				if said < 1<<62 {
					t.Fatalf("a circle is said to come to %d", said)
				}
				continue
			}
			g.heads(g.low)
			g.costs = g.cost()
			g.save(now)
			if fresh.begin(now); fresh.costs != said || g.costs != said {
				t.Fatalf("a move is said to come to %d; it comes to %d", said, fresh.costs)
			}
		}
	})
}
