package jobshop

// criticalPath writes one longest path into buf, the first operation first. Where two ways are as long, chance takes
// one.
func (g *graph) criticalPath(buf []int32, by *chance) []int32 {
	seen := 1
	last := int32(-1)
	for j := range g.jobs {
		if g.first[j] == g.first[j+1] {
			continue
		}
		if o := g.first[j+1] - 1; g.nodes[o].end == g.makes {
			if by.below(seen) == 0 {
				last = o
			}
			seen++
		}
	}
	return g.pathTo(last, buf, by)
}

// pathTo writes a longest path to an operation into buf, the first operation first.
func (g *graph) pathTo(o int32, buf []int32, by *chance) []int32 {
	nodes, buf := g.nodes, buf[:0]
	bits := by.next()
	for o < int32(g.n) {
		buf = append(buf, o)
		x := &nodes[o]
		start := x.end - x.length
		isJob := nodes[x.jobBefore].end == start && x.jobBefore < int32(g.n)
		isMachine := x.machineBefore < int32(g.n) && nodes[x.machineBefore].end == start
		switch {
		case isJob && isMachine:
			if o = x.jobBefore; bits&1 == 0 {
				o = x.machineBefore
			}
			bits = bits>>1 | bits<<63
		case isMachine:
			o = x.machineBefore
		case isJob:
			o = x.jobBefore
		default:
			o = int32(g.n)
		}
	}
	for i, j := 0, len(buf)-1; i < j; i, j = i+1, j-1 {
		buf[i], buf[j] = buf[j], buf[i]
	}
	return buf
}
