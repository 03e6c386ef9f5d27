package climate_test

import (
	"testing"
	"time"

	"tackfree/pkg/climate"
)

func BenchmarkAir_EquilibriumMoisture(b *testing.B) {
	a := air(b, 20, 65)
	for b.Loop() {
		_, _ = a.EquilibriumMoisture()
	}
}

func BenchmarkHumidityFor(b *testing.B) {
	for b.Loop() {
		_, _ = climate.HumidityFor(8, 21)
	}
}

func BenchmarkAir_DewPoint(b *testing.B) {
	a := air(b, 20, 65)
	for b.Loop() {
		_ = a.DewPoint()
	}
}

func BenchmarkFromWetBulb(b *testing.B) {
	for b.Loop() {
		_, _ = climate.FromWetBulb(21, 17, 1013)
	}
}

func BenchmarkJudge(b *testing.B) {
	a := air(b, 20, 65)
	for b.Loop() {
		_, _ = climate.Judge(a, 19, climate.DefaultLimits)
	}
}

func BenchmarkBoard_MoistureAfter(b *testing.B) {
	board, a := climate.Board{ThicknessM: 0.02}, air(b, 20, 50)
	for b.Loop() {
		_, _ = board.MoistureAfter(30, a, 48*time.Hour)
	}
}

func BenchmarkBoard_TimeTo(b *testing.B) {
	board, a := climate.Board{ThicknessM: 0.02}, air(b, 20, 50)
	for b.Loop() {
		_, _ = board.TimeTo(30, 12, a)
	}
}
