package piece_test

import (
	"net/http"
	"net/url"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// by is so many days after the tests' moment, at half past five in Chicago.
func by(days int) *timestamppb.Timestamp {
	return timestamppb.New(time.Date(2026, 3, 18+days, 22, 30, 0, 0, time.UTC))
}

// Both ways to promise it are shown, with their chances and what becomes of others; and what was typed stays.
func TestSuggest(t *testing.T) {
	b := setup(t)
	outlook := func(tag int32, days int) *workflowv1.PieceOutlook {
		return &workflowv1.PieceOutlook{PieceTag: tag, EndTime: by(days)}
	}
	b.answers["SuggestPromiseDate"] = &workflowv1.SuggestPromiseDateResponse{
		Gentle: &workflowv1.SuggestPromiseDateResponse_Option{PromiseTime: by(8), Chance: 0.84},
		Hurried: &workflowv1.SuggestPromiseDateResponse_Option{PromiseTime: by(2), Chance: 0.81, Changes: []*workflowv1.CheckWhatIfResponse_Change{
			{Before: outlook(77, 3), After: outlook(77, 4)}, {Before: outlook(78, 3), After: outlook(78, 2)}, {Before: outlook(79, 3), After: &workflowv1.PieceOutlook{PieceTag: 79}}}},
		Steps: []*workflowv1.SuggestPromiseDateResponse_Step{{Chance: 0.5, PromiseTime: by(6)}, {Chance: 0.95, PromiseTime: by(9)}, {Chance: 0.96, PromiseTime: by(9)}, {Chance: 0.99}}}
	w := b.post("lead", "/pieces/401/suggest", url.Values{"value": {"380"}, "day": {""}})
	if r := b.asked["SuggestPromiseDate"].(*workflowv1.SuggestPromiseDateRequest); r.Piece != thePiece || r.Route != "" {
		t.Errorf("asked %v", r)
	}
	b.says(w, http.StatusOK, `id="do-promise" open`, `value="380"`, "84 % of cases", "81 % of cases", "50 % of cases", `data-day="2026-03-26" data-time="17:30"`, `value="2026-03-20 17:30"`,
		"No other piece is done later.", "Done later then: <a class=\"tag\" href=\"/pieces/77\">77</a> <a class=\"tag\" href=\"/pieces/79\">79</a></span>")
	b.keeps(w, "96 %", "99 %")
	if b.asked["PromisePiece"] != nil {
		t.Error("it is promised unasked")
	}
	b.keeps(b.get("lead", "/pieces/401"), "suggested")
}

// In a hurry is no way to promise it where it is no earlier; and no chance is said to be all.
func TestSuggest_HurriedNoEarlier(t *testing.T) {
	b := setup(t)
	for hurried, shown := range map[int]bool{7: true, 8: false, 9: false} {
		b.answers["SuggestPromiseDate"] = &workflowv1.SuggestPromiseDateResponse{Gentle: &workflowv1.SuggestPromiseDateResponse_Option{PromiseTime: by(8), Chance: 1},
			Hurried: &workflowv1.SuggestPromiseDateResponse_Option{PromiseTime: by(hurried), Chance: 0.81}}
		w := b.post("lead", "/pieces/401/suggest", url.Values{"value": {"380"}})
		b.says(w, http.StatusOK, "Gently:", "kept in over 99 % of cases")
		if shown {
			b.says(w, http.StatusOK, "In a hurry:")
		} else {
			b.keeps(w, "In a hurry:")
		}
		b.keeps(w, "100 %")
	}
}

// Taken without a script, a day is in the form and is not promised yet.
func TestSuggest_Taken(t *testing.T) {
	b := setup(t)
	w := b.post("lead", "/pieces/401/suggest", url.Values{"take": {"2026-03-20 17:30"}, "value": {"380"}, "day": {"2026-04-01"}, "time": {"08:00"}})
	b.says(w, http.StatusOK, `name="day" value="2026-03-20"`, `name="time" value="17:30"`, `value="380"`)
	if b.asked["SuggestPromiseDate"] != nil || b.asked["PromisePiece"] != nil {
		t.Error("something was asked")
	}
}

func TestSuggest_Refused(t *testing.T) {
	b := setup(t)
	b.refuses["SuggestPromiseDate"] = fault.New(fault.Precondition, "PROMISE_NOT_POSSIBLE", "There is no time to promise it for. Nobody can cane.")
	b.says(b.post("lead", "/pieces/401/suggest", url.Values{"value": {"380"}}), http.StatusUnprocessableEntity, "Nobody can cane.", `id="do-promise" open`, `value="380"`)
	b.says(b.post("helper", "/pieces/401/suggest", url.Values{}), http.StatusForbidden, "for the lead and the owner")
}
