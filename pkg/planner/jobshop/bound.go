package jobshop

// bound is what no schedule is better than, at a glance; the prover raises it for job shops.
func (c *core) bound(o Objective) int64 {
	if o == WeightedTardiness {
		return c.tardinessBound()
	}
	return max(c.jobBound(), c.loadBound())
}

// jobBound is the longest job, each operation in its quickest mode.
func (c *core) jobBound() (most int64) {
	rest := c.rests()
	for j := range c.jobs {
		if c.first[j] < c.first[j+1] {
			most = max(most, int64(c.release[j]+rest[c.first[j]]))
		}
	}
	return most
}

// tardinessBound is what the jobs would cost if each had the shop to itself.
func (c *core) tardinessBound() (sum int64) {
	rest := c.rests()
	for j := range c.jobs {
		end := c.release[j]
		if c.first[j] < c.first[j+1] {
			end += rest[c.first[j]]
		}
		sum += int64(c.weight[j]) * int64(max(0, end-c.due[j]))
	}
	return sum
}

// loadBound is, for a set of machines, the least work that no other can do, shared out evenly, with what must come
// before and after it at least. The sets are those of the modes of one operation, of any two, and all.
func (c *core) loadBound() (most int64) {
	sets := c.machineSets()
	rest, heads := c.rests(), c.leastHeads()
	for _, set := range sets {
		work, head, tail, size := int64(0), unknown, unknown, int64(0)
		for o := range int32(c.n) {
			if c.isWithin(o, set) {
				length := c.duration[c.quickest(o)]
				work += int64(length)
				head, tail = min(head, heads[o]), min(tail, rest[o]-length)
			}
		}
		for _, is := range set {
			if is {
				size++
			}
		}
		if work > 0 {
			most = max(most, int64(head)+(work+size-1)/size+int64(tail))
		}
	}
	return most
}

// mostSets is how many different sets of machines are looked at in pairs.
const mostSets = 40

func (c *core) machineSets() (sets [][]bool) {
	seen := map[string]bool{}
	add := func(set []bool) {
		key := make([]byte, len(set))
		for m, is := range set {
			if is {
				key[m] = 1
			}
		}
		if !seen[string(key)] {
			seen[string(key)] = true
			sets = append(sets, set)
		}
	}
	all := make([]bool, c.machines)
	for o := range int32(c.n) {
		set := make([]bool, c.machines)
		for m := c.modeAt[o]; m < c.modeAt[o+1]; m++ {
			set[c.machine[m]], all[c.machine[m]] = true, true
		}
		add(set)
	}
	if single := sets; len(single) <= mostSets {
		for i, a := range single {
			for _, b := range single[:i] {
				add(either(a, b))
			}
		}
	}
	add(all)
	return sets
}

func either(a, b []bool) []bool {
	set := make([]bool, len(a))
	for m := range a {
		set[m] = a[m] || b[m]
	}
	return set
}

func (c *core) isWithin(o int32, set []bool) bool {
	for m := c.modeAt[o]; m < c.modeAt[o+1]; m++ {
		if !set[c.machine[m]] {
			return false
		}
	}
	return true
}

// leastHeads is, by operation, when its job can come to it at the soonest.
func (c *core) leastHeads() []int32 {
	heads := make([]int32, c.n)
	for j := range c.jobs {
		head := c.release[j]
		for o := c.first[j]; o < c.first[j+1]; o++ {
			heads[o] = head
			head += c.duration[c.quickest(o)]
		}
	}
	return heads
}
