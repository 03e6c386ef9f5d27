package planner

import "slices"

// groups joins things into sets (Galler and Fisher, Communications of the ACM 7 (1964) 301-303).
type groups []int

func newGroups(n int) groups {
	g := make(groups, n)
	for i := range g {
		g[i] = i
	}
	return g
}

func (g groups) of(i int) int {
	for g[i] != i {
		g[i] = g[g[i]]
		i = g[i]
	}
	return i
}

func (g groups) join(a, b int) { g[g.of(a)] = g.of(b) }

// tie joins operations between which there is a longest wait: they are placed together or not at all. What
// waits for one operation of a block, and another of it for that, belongs to the block too. Fixed ones are
// placed already and tie nothing.
func (c *compiled) tie() {
	g, fixed := newGroups(len(c.Operations)), c.fixed()
	for _, l := range c.Lags {
		if l.Max != Forever && !fixed[l.From] && !fixed[l.To] {
			g.join(l.From, l.To)
		}
	}
	for circle := c.circle(g, fixed); len(circle) > 0; circle = c.circle(g, fixed) {
		for _, op := range circle[1:] {
			g.join(op, circle[0])
		}
	}
	c.blockOf, c.blocks = make([]int, len(c.Operations)), nil
	number := map[int]int{}
	for _, op := range c.order {
		if fixed[op] {
			c.blockOf[op] = -1
			continue
		}
		b, known := number[g.of(op)]
		if !known {
			b = len(c.blocks)
			number[g.of(op)] = b
			c.blocks = append(c.blocks, nil)
		}
		c.blockOf[op] = b
		c.blocks[b] = append(c.blocks[b], op)
	}
}

// circle gives groups that wait for each other, by their roots; none: none do.
func (c *compiled) circle(g groups, fixed []bool) []int {
	before := make([][]int, len(c.Operations)) // of each root, the roots it waits for
	for _, l := range c.Lags {
		if from, to := g.of(l.From), g.of(l.To); from != to && !fixed[l.From] && !fixed[l.To] {
			before[to] = append(before[to], from)
		}
	}
	const (
		unseen = iota
		open
		closed
	)
	state := make([]byte, len(c.Operations))
	var path []int
	var visit func(root int) []int
	visit = func(root int) []int {
		state[root] = open
		path = append(path, root)
		for _, from := range before[root] {
			if state[from] == open {
				return path[slices.Index(path, from):]
			}
			if state[from] == unseen {
				if found := visit(from); found != nil {
					return found
				}
			}
		}
		state[root] = closed
		path = path[:len(path)-1]
		return nil
	}
	for op := range c.Operations {
		if g.of(op) == op && state[op] == unseen {
			if found := visit(op); found != nil {
				return found
			}
		}
	}
	return nil
}
