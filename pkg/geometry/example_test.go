package geometry_test

import (
	"fmt"

	"tackfree/pkg/geometry"
)

// A dining chair, m: a seat with its edges, two front and two back legs, four aprons seen from
// outside, inside and below, three slats all round. By hand: seat 0.45 × 0.42 + 1.74 × 0.02 =
// 0.2238; front legs 2 × 4 × 0.43 × 0.04 = 0.1376; back legs 2 × 4 × 0.9 × 0.04 = 0.288; aprons
// 4 × 0.37 × (2 × 0.06 + 0.02) = 0.2072; slats 3 × 0.37 × (2 × 0.08 + 2 × 0.012) = 0.20424.
func ExampleSum_chair() {
	chair, err := geometry.Sum(
		geometry.Part{Shape: geometry.Panel{Length: 0.45, Width: 0.42, Thickness: 0.02, Faces: 1, Edges: geometry.AllEdges}, Count: 1, Relief: geometry.Flat},
		geometry.Part{Shape: geometry.SquareLeg{Length: 0.43, Side: 0.04}, Count: 2, Relief: geometry.Flat},
		geometry.Part{Shape: geometry.SquareLeg{Length: 0.9, Side: 0.04}, Count: 2, Relief: geometry.Flat},
		geometry.Part{Shape: geometry.Rail{Length: 0.37, Width: 0.06, Thickness: 0.02, Sides: 3}, Count: 4, Relief: geometry.Flat},
		geometry.Part{Shape: geometry.Rail{Length: 0.37, Width: 0.08, Thickness: 0.012, Sides: 4}, Count: 3, Relief: geometry.Flat},
	)
	fmt.Printf("%.5f m², %v\n", chair.M2, err)
	// Output: 1.06084 m², <nil>
}

// A round table, m: a top of 1.1 m with its edge, one turned column, three feet. By hand: top
// π/4 × 1.21 + π × 1.1 × 0.03 = 1.05400; column π × 0.1 × 0.6 = 0.18850; feet 3 × (2 × 0.4 ×
// 0.08 + 2 × 0.4 × 0.04) = 0.288.
func ExampleSum_table() {
	table, err := geometry.Sum(
		geometry.Part{Shape: geometry.Disc{Length: 1.1, Width: 1.1, Thickness: 0.03, Faces: 1, Edge: true}, Count: 1, Relief: geometry.Flat},
		geometry.Part{Shape: geometry.TurnedLeg{Length: 0.6, Diameters: []float64{0.1, 0.1}}, Count: 1, Relief: geometry.Flat},
		geometry.Part{Shape: geometry.Rail{Length: 0.4, Width: 0.08, Thickness: 0.04, Sides: 4}, Count: 3, Relief: geometry.Flat},
	)
	fmt.Printf("%.5f m², %v\n", table.M2, err)
	// Output: 1.53050 m², <nil>
}
