package cli

import (
	"cmp"
	"slices"

	datev1 "google.golang.org/genproto/googleapis/type/date"

	"tackfree/services/shop/internal/client"
)

// dated is a term that holds from a day on: a rate, a rule, a burden.
type dated interface{ GetEffectiveDate() *datev1.Date }

// listed is a term as a list shows it.
type listed[T dated] struct {
	term     T
	replaced bool // by a later one of the same from the same day
}

// remark says what became of it.
func (l listed[T]) remark() string {
	if l.replaced {
		return "replaced"
	}
	return ""
}

// byDay puts terms, which come in the order in which they were set, in the order in which they hold: by
// whose they are, then by day. The last of each day is the one that holds.
func byDay[T dated](set []T, whose func(T) string) []listed[T] {
	same := func(a, b T) int {
		return cmp.Or(cmp.Compare(whose(a), whose(b)), cmp.Compare(client.WriteDay(a.GetEffectiveDate()), client.WriteDay(b.GetEffectiveDate())))
	}
	ordered := slices.Clone(set)
	slices.SortStableFunc(ordered, same)
	var all []listed[T]
	for i, term := range ordered {
		all = append(all, listed[T]{term, i+1 < len(ordered) && same(term, ordered[i+1]) == 0})
	}
	return all
}

// nobodys is whose a term of the whole shop is.
func nobodys[T dated](T) string { return "" }
