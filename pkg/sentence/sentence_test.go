package sentence_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/sentence"
)

func TestSentence(t *testing.T) {
	bare := sentence.New("PUT_OFF", "It is put off until %s.", "Mon 2 Mar 2026")
	full := bare.With("stage", "sand").With("station", "").On("until_date", time.Date(2026, 3, 2, 23, 0, 0, 0, time.UTC)).
		At("from_time", time.Date(2026, 3, 2, 9, 0, 0, 0, time.FixedZone("", -5*3600))).At("to_time", time.Time{})
	want := sentence.Sentence{Reason: "PUT_OFF", Text: "It is put off until Mon 2 Mar 2026.",
		Figures: map[string]string{"stage": "sand", "until_date": "2026-03-02", "from_time": "2026-03-02T14:00:00Z"}}
	if diff := cmp.Diff(want, full); diff != "" {
		t.Errorf("the sentence (-want +got):\n%s", diff)
	}
	if len(bare.Figures) != 0 || full.With("kind", "sand").Figures["kind"] == full.Figures["kind"] {
		t.Error("With changed the sentence that it was called on")
	}
	if got := sentence.Text([]sentence.Sentence{bare, sentence.New("B", "Then.")}); got != "It is put off until Mon 2 Mar 2026. Then." {
		t.Errorf("Text = %q", got)
	}
}
