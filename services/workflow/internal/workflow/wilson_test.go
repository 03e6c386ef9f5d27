package workflow_test

import (
	"math"
	"testing"

	"tackfree/services/workflow/internal/workflow"
)

// Newcombe (1998), table I, method 3 (score without continuity correction), from memory.
func TestWilson(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		hits, n   int
		low, high float64
	}{{81, 263, 0.2553, 0.3662}, {15, 148, 0.0624, 0.1605}, {0, 20, 0, 0.1611}, {1, 29, 0.0061, 0.1718}} {
		low, high := workflow.Wilson(c.hits, c.n)
		if math.Abs(low-c.low) > 5e-5 || math.Abs(high-c.high) > 5e-5 {
			t.Errorf("Wilson(%d, %d) = %.4f to %.4f, want %.4f to %.4f", c.hits, c.n, low, high, c.low, c.high)
		}
	}
}
