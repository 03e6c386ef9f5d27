package wire

import (
	"tackfree/pkg/sentence"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// ToSaid writes which sentence a text of an answer is; nil: it is none.
func ToSaid(s sentence.Sentence) *typev1.Said {
	if s.Reason == "" {
		return nil
	}
	return &typev1.Said{Reason: s.Reason, Figures: s.Figures}
}

// ToSaids writes several.
func ToSaids(all []sentence.Sentence) (out []*typev1.Said) {
	for _, s := range all {
		out = append(out, ToSaid(s))
	}
	return out
}
