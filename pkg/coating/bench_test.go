package coating_test

import (
	"testing"

	"tackfree/pkg/coating"
)

func BenchmarkJob_Need(b *testing.B) {
	j := job()
	for b.Loop() {
		_, _ = j.Need()
	}
}

func BenchmarkWetFilm(b *testing.B) {
	for b.Loop() {
		_, _ = coating.WetFilm(40, 40, 10)
	}
}

func BenchmarkFormula_VOC(b *testing.B) {
	f := coating.Formula{DensityGL: 1020, SolidsPercent: 20, WaterPercent: 50}
	for b.Loop() {
		_, _ = f.VOC()
	}
}

func BenchmarkBlend(b *testing.B) {
	parts := []coating.Part{{Litres: 3, VOC: 370}, {Litres: 1, VOC: 215}, {Litres: 7, WaterLitres: 7}}
	for b.Loop() {
		_, _ = coating.Blend(parts...)
	}
}
