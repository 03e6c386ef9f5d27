package money

import (
	"math/big"
	"slices"
)

// Split divides total in proportion to weights so that the parts add up to it
// exactly: by largest remainder (Hamilton's method), ties going to the earlier part.
// Weights are at least zero; when all are zero the parts are as equal as can be.
// The sign of total may be either; no weights give no parts.
func Split(total Amount, weights []int64) []Amount {
	if len(weights) == 0 {
		return nil
	}
	if total < 0 {
		parts := Split(-total, weights)
		for i := range parts {
			parts[i] = -parts[i]
		}
		return parts
	}
	sum := sumOf(weights)
	if sum.Sign() == 0 {
		weights = slices.Repeat([]int64{1}, len(weights))
		sum.SetInt64(int64(len(weights)))
	}
	parts, rests := quotas(total, weights, sum)
	handOut(parts, rests, total)
	return parts
}

func sumOf(weights []int64) *big.Int {
	sum := new(big.Int)
	for _, w := range weights {
		sum.Add(sum, big.NewInt(w))
	}
	return sum
}

// quotas gives each part's whole share and the remainder over sum it leaves.
func quotas(total Amount, weights []int64, sum *big.Int) ([]Amount, []*big.Int) {
	parts := make([]Amount, len(weights))
	rests := make([]*big.Int, len(weights))
	for i, w := range weights {
		share := new(big.Int).Mul(big.NewInt(int64(total)), big.NewInt(w))
		rests[i] = new(big.Int)
		share.DivMod(share, sum, rests[i])
		parts[i] = Amount(share.Int64())
	}
	return parts, rests
}

// handOut gives one unit each to the largest remainders until total is used up.
func handOut(parts []Amount, rests []*big.Int, total Amount) {
	order := make([]int, len(parts))
	for i := range order {
		order[i] = i
		total -= parts[i]
	}
	slices.SortStableFunc(order, func(a, b int) int { return rests[b].Cmp(rests[a]) })
	for _, i := range order[:total] {
		parts[i]++
	}
}
