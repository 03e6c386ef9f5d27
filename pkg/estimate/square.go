package estimate

import "math"

// square is a symmetric matrix, row by row.
type square struct {
	n int
	v []float64
}

func newSquare(n int) square { return square{n, make([]float64, n*n)} }

func (s square) at(i, j int) float64 { return s.v[i*s.n+j] }

func (s square) row(i int) []float64 { return s.v[i*s.n : (i+1)*s.n] }

// times is the product with a column.
func (s square) times(x []float64) []float64 {
	y := make([]float64, s.n)
	for i := range y {
		y[i] = dot(s.row(i), x)
	}
	return y
}

// inverse replaces a positive definite matrix by its inverse, by way of its lower Cholesky
// factor L: the inverse is L⁻ᵀ L⁻¹.
func (s square) inverse() square {
	s.factor()
	s.invertFactor()
	out := newSquare(s.n)
	for k := range s.n {
		row := s.row(k)[:k+1]
		for i, l := range row {
			into := out.row(i)
			for j, m := range row[:i+1] {
				into[j] += l * m
			}
		}
	}
	for i := range s.n {
		for j := range i {
			out.v[j*s.n+i] = out.at(i, j)
		}
	}
	return out
}

// factor leaves L in the lower triangle.
func (s square) factor() {
	for i := range s.n {
		row := s.row(i)
		for j := range i {
			row[j] = (row[j] - dot(row[:j], s.row(j)[:j])) / s.at(j, j)
		}
		row[i] = math.Sqrt(row[i] - dot(row[:i], row[:i]))
	}
}

// invertFactor replaces L by its inverse, which is lower too, row by row.
func (s square) invertFactor() {
	for i := range s.n {
		row := s.row(i)
		for j := range i {
			sum := 0.0
			for k := j; k < i; k++ {
				sum += row[k] * s.at(k, j)
			}
			row[j] = sum
		}
		for j := range i {
			row[j] /= -row[i]
		}
		row[i] = 1 / row[i]
	}
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}
