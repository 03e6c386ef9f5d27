package planner

import (
	"slices"
	"sort"
)

// at gives the index of the first window that ends after t.
func (c Calendar) at(t Minute) int {
	return sort.Search(len(c), func(i int) bool { return c[i].End > t })
}

// and is when both are open. Nil is always.
func (c Calendar) and(other Calendar) Calendar {
	if c == nil || other == nil {
		if c == nil {
			return other
		}
		return c
	}
	both := Calendar{}
	for i, j := 0, 0; i < len(c) && j < len(other); {
		start, end := max(c[i].Start, other[j].Start), min(c[i].End, other[j].End)
		if start < end {
			both = append(both, Window{start, end})
		}
		if c[i].End < other[j].End {
			i++
		} else {
			j++
		}
	}
	return both
}

// is tells whether two are open at the same times; always is not never.
func (c Calendar) is(other Calendar) bool {
	return (c == nil) == (other == nil) && slices.Equal(c, other)
}

// fit gives the first stretch from t on in which so many minutes can be worked: within one window, or
// over several where the work may pause. A stretch begins and ends within windows.
func (c Calendar) fit(t Minute, minutes int, splittable bool) (w Window, ok bool) {
	if c == nil {
		return Window{t, t + minutes}, true
	}
	for i := c.at(t); i < len(c); i++ {
		start := max(t, c[i].Start)
		if start+minutes <= c[i].End {
			return Window{start, start + minutes}, true
		}
		if splittable && minutes > 0 {
			end, ok := c.over(i, start, minutes)
			return Window{start, end}, ok
		}
	}
	return w, false
}

// over gives when so many minutes are worked from a start within window i on, over as many as it takes.
func (c Calendar) over(i int, start Minute, minutes int) (end Minute, ok bool) {
	left := minutes - (c[i].End - start)
	for i++; i < len(c); i++ {
		if length := c[i].End - c[i].Start; left > length {
			left -= length
			continue
		}
		return c[i].Start + left, true
	}
	return 0, false
}

// opens gives the first minute from t on at which it is open.
func (c Calendar) opens(t Minute) (Minute, bool) {
	if c == nil {
		return t, true
	}
	i := c.at(t)
	if i == len(c) {
		return 0, false
	}
	return max(t, c[i].Start), true
}
