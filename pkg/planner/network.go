package planner

import "slices"

// network says which blocks wait for which, and which the search may move.
type network struct {
	of            *compiled
	before, after [][]int // of each block, those it waits for and those that wait for it
	ofPiece       [][]int // of each piece, the blocks with an operation of it, each after all it waits for
	ends          [][]int // of each piece, the operations that nothing of the piece waits for
	pieces        [][]int // of each block, the pieces it has operations of
	urgent        []bool  // of each block: a window runs that began with something fixed
}

func newNetwork(c *compiled) *network {
	n := &network{of: c, before: make([][]int, len(c.blocks)), after: make([][]int, len(c.blocks)), ofPiece: make([][]int, len(c.Pieces)),
		ends: make([][]int, len(c.Pieces)), pieces: make([][]int, len(c.blocks)), urgent: make([]bool, len(c.blocks))}
	last := make([]bool, len(c.Operations))
	for op := range last {
		last[op] = !slices.ContainsFunc(c.out[op], func(l int) bool { return c.Operations[c.Lags[l].To].Piece == c.Operations[op].Piece })
	}
	for op, o := range c.Operations {
		if last[op] {
			n.ends[o.Piece] = append(n.ends[o.Piece], op)
		}
	}
	for b, ops := range c.blocks {
		for _, op := range ops {
			n.pieces[b] = include(n.pieces[b], c.Operations[op].Piece)
			n.link(b, op)
		}
	}
	for _, b := range n.sorted() {
		for _, piece := range n.pieces[b] {
			n.ofPiece[piece] = append(n.ofPiece[piece], b)
		}
	}
	return n
}

func include(all []int, x int) []int {
	if slices.Contains(all, x) {
		return all
	}
	return append(all, x)
}

func (n *network) link(b, op int) {
	for _, l := range n.of.in[op] {
		lag := n.of.Lags[l]
		from := n.of.blockOf[lag.From]
		if from < 0 {
			n.urgent[b] = n.urgent[b] || lag.Max != Forever
		} else if from != b {
			n.before[b], n.after[from] = include(n.before[b], from), include(n.after[from], b)
		}
	}
}

// sorted gives the blocks, each after all that it waits for.
func (n *network) sorted() (all []int) {
	waits := make([]int, len(n.of.blocks))
	for b := range n.of.blocks {
		if waits[b] = len(n.before[b]); waits[b] == 0 {
			all = append(all, b)
		}
	}
	for i := 0; i < len(all); i++ {
		for _, next := range n.after[all[i]] {
			if waits[next]--; waits[next] == 0 {
				all = append(all, next)
			}
		}
	}
	return all
}
