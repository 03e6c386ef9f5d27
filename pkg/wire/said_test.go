package wire_test

import (
	"testing"

	"tackfree/pkg/sentence"
	"tackfree/pkg/wire"
)

func TestToSaid(t *testing.T) {
	if got := wire.ToSaid(sentence.Sentence{}); got != nil {
		t.Errorf("ToSaid of no sentence = %v", got)
	}
	all := wire.ToSaids([]sentence.Sentence{sentence.New("DAY_OFF", "day off"), sentence.New("TOO_LONG", "Too long.").With("minutes", "90")})
	if len(all) != 2 || all[0].Reason != "DAY_OFF" || all[1].Reason != "TOO_LONG" || all[1].Figures["minutes"] != "90" {
		t.Errorf("ToSaids = %v", all)
	}
}
