package climate_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"tackfree/pkg/climate"
)

// published reads a table of testdata/published: its first row are headings.
func published(t *testing.T, name string) (headings []string, rows [][]float64) {
	t.Helper()
	f, err := os.Open("../../testdata/published/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, cells := range all[1:] {
		row := make([]float64, len(cells))
		for i, cell := range cells {
			if row[i], err = strconv.ParseFloat(cell, 64); err != nil {
				t.Fatal(err)
			}
		}
		rows = append(rows, row)
	}
	return all[0], rows
}

func air(t testing.TB, celsius, humidity float64) climate.Air {
	t.Helper()
	a, err := climate.NewAir(celsius, humidity)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func near(t testing.TB, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s = %v, want %v ± %v", what, got, want, within)
	}
}

func fahrenheit(f float64) float64 { return (f - 32) / 1.8 }
