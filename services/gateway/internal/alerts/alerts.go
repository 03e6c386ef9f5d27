// Package alerts says what materials warns of to whoever reads.
//
//	alert: kind, product, day ─▶ Say ─▶ a sentence in the reader's language
//	       text, in English ───────────▶ as it is, to those who read English, and of kinds nobody knows here
//
// The service's own sentence says more than a page can make of the alert's facts: how much, and from whom.
// A page of the product says that in every language.
package alerts

import (
	"strings"
	"time"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/words"
)

// OilyWaste is the kind of the alert that somebody has to see to oily rags.
const OilyWaste = "oily waste"

// long is how long after it was due oily waste is urgent: from six in the evening until midnight. Common
// practice.
const long = 6 * time.Hour

// Word is a kind of alert as keys of the catalogue have it: order_now.
func Word(kind string) string { return strings.ReplaceAll(kind, " ", "_") }

// Say gives an alert's sentence, and whether it is in English though the reader's language is another.
func Say(v *words.Voice, a *materialsv1.Alert, now time.Time) (text string, english bool) {
	if v.Language == words.Languages[0] {
		return a.Text, false
	}
	key := keyOf(a, now)
	switch {
	case !v.Has(key):
		return a.Text, true
	case a.Product == "" || a.Kind == OilyWaste:
		return v.T(key), false
	}
	text = v.T(key, a.ProductName)
	if a.NobodySells {
		text += " " + v.T("alert.nobody_sells")
	}
	return text, false
}

// keyOf gives the key of a sentence. Oily waste is said in stronger words once it is due, and in the
// strongest hours after; an order of several products names none.
func keyOf(a *materialsv1.Alert, now time.Time) string {
	key := "alert." + Word(a.Kind)
	switch {
	case a.Kind == OilyWaste && a.DueTime != nil && now.Sub(a.DueTime.AsTime()) >= long:
		return key + ".long"
	case a.Kind == OilyWaste && a.DueTime != nil && !now.Before(a.DueTime.AsTime()):
		return key + ".due"
	case a.Product == "":
		return key + ".whole"
	}
	return key
}
