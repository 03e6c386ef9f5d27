package server_test

import (
	"testing"

	"tackfree/pkg/id"
	salesv1 "tackfree/proto/tackfree/sales/v1"
)

// BenchmarkAdvisePrice_5000 asks what to ask for a piece, in a shop that has sold 5,000: of what was
// learned before, and after something was sold, so that all is learned anew.
func BenchmarkAdvisePrice_5000(b *testing.B) {
	a := advises(b)
	a.simulate(5_000, 1)
	piece := a.own("dresser", "large", "paint", today.AddDate(0, 0, -20))
	a.puts(piece, 420, today.AddDate(0, 0, -20))
	a.hear()
	ask := func() {
		if _, err := a.AdvisePrice(b.Context(), &salesv1.AdvisePriceRequest{Piece: id.Name("pieces", piece)}); err != nil {
			b.Fatal(err)
		}
	}
	b.Run("Known", func(b *testing.B) {
		ask()
		for b.Loop() {
			ask()
		}
	})
	b.Run("Anew", func(b *testing.B) {
		for b.Loop() {
			b.StopTimer()
			a.sells(a.own("chair", "small", "", today), 60, today, id.Nil)
			a.hear()
			b.StartTimer()
			ask()
		}
	})
}
