package buying

import "testing"

// The first points of two dimensions, as the manual of SciPy prints those of
// scipy.stats.qmc.Sobol(d=2, scramble=False).random_base2(m=3); cited from memory, but the first
// five after zero stand in the read-me of the Python package sobol_seq too.
func TestEvenly_First(t *testing.T) {
	want := [][2]float64{{0, 0}, {0.5, 0.5}, {0.75, 0.25}, {0.25, 0.75}, {0.375, 0.375}, {0.875, 0.875}, {0.625, 0.125}, {0.125, 0.625}}
	for i, w := range want {
		for d := range w {
			if got := float64(evenly()[d][i]^shift[d]) / points; got != w[d] {
				t.Errorf("point %d, dimension %d = %v, want %v", i, d, got, w[d])
			}
		}
	}
}

// Each stratum of each thing is drawn once, and of each pair of things each box of 256 equally
// often. Points by chance leave boxes with half as many as others.
func TestEvenly(t *testing.T) {
	all := evenly()
	for d := range numWhat {
		seen := map[int]bool{}
		for _, stratum := range all[d] {
			seen[stratum] = true
		}
		if len(seen) != points {
			t.Errorf("dimension %d: %d strata, want %d", d, len(seen), points)
		}
		for e := range d {
			box := map[[2]int]int{}
			for i := range points {
				box[[2]int{all[d][i] >> 8, all[e][i] >> 8}]++ // 16 by 16
			}
			for b, n := range box {
				if n != points/256 {
					t.Errorf("dimensions %d and %d: box %v has %d points, want %d", d, e, b, n, points/256)
				}
			}
		}
	}
}
