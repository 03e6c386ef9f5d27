package film_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"tackfree/services/gateway/internal/pages/piece/film"
)

func someLayers(t *rapid.T) []film.Layer {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) film.Layer {
		return film.Layer{Soaks: rapid.IntRange(0, 4).Draw(t, "soaks") == 0, Microns: rapid.Float64Range(0.5, 10_000).Draw(t, "um")}
	}), 0, 40).Draw(t, "layers")
}

// Whatever the layers: each film is as thick as it is to the others, one lies on the other without a
// gap, the order is from the wood up, and nothing is outside the drawing.
func TestDraw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		layers := someLayers(t)
		d := film.Draw(film.Ground{}, layers)
		if len(d.Bands) != len(layers) {
			t.Fatalf("%d bands of %d layers", len(d.Bands), len(layers))
		}
		below, perUm := d.WoodY, ratio(d.Bands)
		for i, b := range d.Bands {
			if b.X < 0 || b.Y < 0 || b.W <= 0 || b.H < 0 || b.X+b.W+b.Slope > d.Width || b.Y+b.H > d.Height {
				t.Fatalf("band %d is outside: %+v", i, b)
			}
			if b.Soaks {
				if b.Y != d.WoodY || b.H > d.WoodH || b.H <= 0 {
					t.Fatalf("the colour of band %d is not in the wood: %+v", i, b)
				}
				continue
			}
			if b.Y+b.H != below {
				t.Fatalf("band %d ends at %d and not on what lies below, %d", i, b.Y+b.H, below)
			}
			if math.Abs(float64(b.H)-b.Microns*perUm) > 1.01 {
				t.Fatalf("band %d of %.1f µm is %d high at %.4f a micron", i, b.Microns, b.H, perUm)
			}
			below = b.Y
		}
		if d.WoodY+d.WoodH != d.Height || d.WoodX+d.WoodW != d.Width {
			t.Fatalf("the wood does not fill the drawing's foot: %+v", d)
		}
	})
}

// ratio is how high a micron is, by the whole of the films.
func ratio(bands []film.Band) float64 {
	high, um := 0, 0.0
	for _, b := range bands {
		if !b.Soaks {
			high, um = high+b.H, um+b.Microns
		}
	}
	if um == 0 {
		return 0
	}
	return float64(high) / um
}

// The films are sanded back at the right, each further than the one below, so that each is seen.
func TestDraw_FeathersFromTheWoodUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		before := math.MaxInt
		for i, b := range film.Draw(film.Ground{}, someLayers(t)).Bands {
			if b.Soaks {
				continue
			}
			if b.W+b.Slope >= before {
				t.Fatalf("band %d reaches %d, not less than the one below it", i, b.W+b.Slope)
			}
			before = b.W + b.Slope
		}
	})
}

// Numbers stand in the order of what they belong to, from the top down, and can be told apart.
func TestDraw_NumbersStandApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := film.Draw(film.Ground{}, someLayers(t))
		for i, a := range d.Bands {
			if a.LabelY < 100 || a.LabelY > d.Height-60 || a.LabelX >= a.X {
				t.Fatalf("number %d stands at %d, %d", i, a.LabelX, a.LabelY)
			}
			for _, b := range d.Bands[i+1:] {
				if abs(a.LabelY-b.LabelY) < 150 {
					t.Fatalf("two numbers at %d and %d", a.LabelY, b.LabelY)
				}
				if (a.MiddleY < b.MiddleY) && a.LabelY > b.LabelY {
					t.Fatalf("numbers are not in the order of the bands: %+v, %+v", a, b)
				}
			}
		}
	})
}

func abs(n int) int { return max(n, -n) }
