package apportion_test

import (
	"math/big"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"tackfree/pkg/apportion"
)

// Largest remainder (Hamilton apportionment), quotas worked by hand; the six-party
// row is the usual textbook electorate of 100,000 votes.
func TestSplit_LargestRemainder(t *testing.T) {
	votes := []int64{47000, 16000, 15800, 12000, 6100, 3100}
	cases := []struct {
		total   int64
		weights []int64
		want    []int64
	}{
		{10000, []int64{1, 1, 1}, []int64{3334, 3333, 3333}},
		{100, votes, []int64{47, 16, 16, 12, 6, 3}},
		{10, votes, []int64{5, 2, 1, 1, 1, 0}},
		{5, []int64{1, 1, 1, 1, 1, 1}, []int64{1, 1, 1, 1, 1, 0}},
		{9975, []int64{3, 5, 7}, []int64{1995, 3325, 4655}},
		{1, []int64{1, 1}, []int64{1, 0}},
		{-10000, []int64{1, 1, 1}, []int64{-3334, -3333, -3333}},
		{7, []int64{0, 0}, []int64{4, 3}},
		{7, nil, nil},
	}
	for _, c := range cases {
		if diff := cmp.Diff(c.want, apportion.Split(c.total, c.weights)); diff != "" {
			t.Errorf("Split(%d, %v) (-want +got):\n%s", c.total, c.weights, diff)
		}
	}
}

func TestSplit_AddsUpAndStaysNearTheQuota(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		total := rapid.Int64Range(-1<<60, 1<<60).Draw(t, "total")
		weights := rapid.SliceOfN(rapid.Int64Range(0, 1<<40), 1, 20).Draw(t, "weights")
		var sum int64
		var weight int64
		for _, w := range weights {
			weight += w
		}
		for i, part := range apportion.Split(total, weights) {
			sum += part
			if weight == 0 {
				continue
			}
			quota := new(big.Rat).SetFrac(new(big.Int).Mul(big.NewInt(total), big.NewInt(weights[i])), big.NewInt(weight))
			off := quota.Sub(quota, new(big.Rat).SetInt64(part))
			if off.Abs(off).Cmp(big.NewRat(1, 1)) >= 0 {
				t.Fatalf("part %d of Split(%d, %v) is %d, a whole unit off its quota", i, total, weights, part)
			}
		}
		if sum != total {
			t.Fatalf("Split(%d, %v) adds up to %d", total, weights, sum)
		}
	})
}
