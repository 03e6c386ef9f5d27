// Package apportion splits a whole number over weights so that the parts add up to it, by
// largest remainders: Hamilton's method, as described in M. L. Balinski and H. P. Young,
// Fair Representation (Yale University Press, 1982), chapter 3. Trade, pure.
package apportion

import (
	"cmp"
	"math/big"
	"slices"
)

// Split gives each weight its whole share of total, and what that leaves one by one to the
// largest remainders, of two alike to the earlier one. The parts have the sign of total and
// add up to it; each is less than one away from its exact share. Weights are not below
// zero; if all are zero the shares are equal, and of none there are no parts.
func Split[T ~int64](total T, weights []int64) []T {
	if len(weights) == 0 {
		return nil
	}
	sum := sumOf(weights)
	if sum.Sign() == 0 {
		weights = slices.Repeat([]int64{1}, len(weights))
		sum.SetInt64(int64(len(weights)))
	}
	parts, rests := make([]T, len(weights)), make([]*big.Int, len(weights))
	left := total
	for i, w := range weights {
		share, rest := new(big.Int).QuoRem(new(big.Int).Mul(big.NewInt(int64(total)), big.NewInt(w)), sum, new(big.Int))
		parts[i], rests[i] = T(share.Int64()), rest.Abs(rest)
		left -= parts[i]
	}
	handOut(parts, rests, left)
	return parts
}

func sumOf(weights []int64) *big.Int {
	sum := new(big.Int)
	for _, w := range weights {
		sum.Add(sum, big.NewInt(w))
	}
	return sum
}

// handOut gives what is left, in ones of its sign, to the largest remainders.
func handOut[T ~int64](parts []T, rests []*big.Int, left T) {
	order := make([]int, len(parts))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return rests[b].Cmp(rests[a]) })
	one := T(cmp.Compare(left, 0))
	for _, i := range order {
		if left == 0 {
			return
		}
		parts[i] += one
		left -= one
	}
}
