package inbox_test

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tackfree/pkg/bus"
	"tackfree/pkg/id"
)

// The law of the inbox: whatever the broker loses, repeats and shuffles, and however it
// cuts the batches, after a comparison every aggregate is the fold of its log.
func TestInbox_AnyDeliveryGivesTheFoldOfTheLog(t *testing.T) {
	b := setup(t)
	rapid.Check(t, func(rt *rapid.T) {
		b.intake.events = nil
		pieces := []id.ID{id.New(), id.New(), id.New()}
		want := map[id.ID]string{}
		for _, piece := range pieces {
			numbers := rapid.SliceOfN(rapid.Int32Range(-50, 50), 0, 6).Draw(rt, "numbers")
			b.intake.writeAll(piece, numbers...)
			want[piece] = fold(numbers)
		}
		var deliveries []bus.Delivery
		if log := b.intake.events; len(log) > 0 {
			for _, i := range rapid.SliceOfN(rapid.IntRange(0, len(log)-1), 0, 30).Draw(rt, "deliveries") {
				deliveries = append(deliveries, delivery(log[i]))
			}
		}
		in := b.another()
		for len(deliveries) > 0 {
			n := rapid.IntRange(1, len(deliveries)).Draw(rt, "batch")
			if err := in.Handle(t.Context(), deliveries[:n]); err != nil {
				rt.Fatal(err)
			}
			deliveries = deliveries[n:]
		}
		if err := in.Compare(t.Context()); err != nil {
			rt.Fatal(err)
		}
		for _, piece := range pieces {
			if got := b.sum(t, piece); got != want[piece] {
				rt.Fatalf("sum and versions = %q, want %q", got, want[piece])
			}
		}
		if p := b.progress(t); p.Parked != 0 || p.Dead != 0 || p.Behind != 0 {
			rt.Fatalf("progress = %+v, want nothing open", p)
		}
	})
}

// fold writes what the handler comes to.
func fold(numbers []int32) string {
	if len(numbers) == 0 {
		return ""
	}
	var total int64
	var versions []string
	for i, n := range numbers {
		total += int64(n)
		versions = append(versions, fmt.Sprint(i+1))
	}
	return fmt.Sprintf("%d [%s]", total, strings.Join(versions, " "))
}
