package jobshop

// window is what a proof knows of an operation: it begins no earlier than head, and from its end on at least tail must
// pass before all is done.
type window struct{ head, length, tail int32 }

// edgeFinder tightens the heads of the operations of one machine (Carlier and Pinson 1994; in the form in which
// Baptiste, Le Pape and Nuijten, Constraint-Based Scheduling, 2001, section 2.1.4, give it).
type edgeFinder struct {
	byHead []int32 // indices into the windows, the earliest head first
	reach  []int32
	raised []int32
}

// raise finds which operations must come behind all of a set of others if all is to end by limit, and raises their
// heads. With mirrored, heads and tails change roles. It gives whether a head changed, and false for ok where there is
// no order at all.
func (e *edgeFinder) raise(ops []int32, w []window, limit int32, mirrored bool) (changed, ok bool) {
	e.sort(ops, w, mirrored)
	e.raised = e.raised[:0]
	for _, o := range e.byHead {
		e.raised = append(e.raised, headOf(&w[o], mirrored))
	}
	for _, k := range ops {
		if !e.behind(w, limit-tailOf(&w[k], mirrored), limit, mirrored) {
			return false, false
		}
	}
	for i, o := range e.byHead {
		if h := e.raised[i]; h > headOf(&w[o], mirrored) {
			if changed = true; mirrored {
				w[o].tail = h
			} else {
				w[o].head = h
			}
		}
	}
	return changed, true
}

func headOf(w *window, mirrored bool) int32 {
	if mirrored {
		return w.tail
	}
	return w.head
}

func tailOf(w *window, mirrored bool) int32 { return headOf(w, !mirrored) }

func (e *edgeFinder) sort(ops []int32, w []window, mirrored bool) {
	e.byHead = append(e.byHead[:0], ops...)
	for i := 1; i < len(e.byHead); i++ {
		o := e.byHead[i]
		j := i
		for ; j > 0 && headOf(&w[e.byHead[j-1]], mirrored) > headOf(&w[o], mirrored); j-- {
			e.byHead[j] = e.byHead[j-1]
		}
		e.byHead[j] = o
	}
	e.reach = append(e.reach[:0], ops...)
}

// behind looks at the set of the operations that must end by due: who of the others comes behind all of them.
func (e *edgeFinder) behind(w []window, due, limit int32, mirrored bool) bool {
	work, end, most := int32(0), -unknown, -unknown
	for i := len(e.byHead) - 1; i >= 0; i-- {
		x := &w[e.byHead[i]]
		if limit-tailOf(x, mirrored) <= due {
			work += x.length
			if end = max(end, headOf(x, mirrored)+work); end > due {
				return false
			}
		}
		e.reach[i] = end
	}
	for i, o := range e.byHead {
		x := &w[o]
		if limit-tailOf(x, mirrored) <= due {
			most = max(most, headOf(x, mirrored)+work)
			work -= x.length
			continue
		}
		if headOf(x, mirrored)+work+x.length > due {
			e.raised[i] = max(e.raised[i], e.reach[i])
		}
		if most+x.length > due {
			e.raised[i] = max(e.raised[i], end)
		}
	}
	return true
}
