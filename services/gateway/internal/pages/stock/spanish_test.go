package stock

import (
	"strings"
	"testing"
	"time"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/words"
)

// What a sum of flammable liquid means is said in the reader's language.
func TestKept_SaidInSpanish(t *testing.T) {
	k := keptOf(&materialsv1.Flammables{Text: "It counts as if it stood in the open. Not counted: Wax.",
		Said: []*typev1.Said{{Reason: "FLAMMABLES_NOWHERE"}, {Reason: "FLAMMABLES_NOT_COUNTED", Figures: map[string]string{"products": "Wax"}}}}, false)
	v := &words.Voice{Language: "es", Zone: time.UTC}
	want := "Cuenta como si estuviera a la vista, sin armario: di de sus lotes dónde están. Sin contar, así que puede haber más de lo que se ve: Wax."
	if got := v.Sentences(k.Said, k.Text, time.Time{}); !strings.HasPrefix(got, want) {
		t.Errorf("the text is %q, want %q", got, want)
	}
}
