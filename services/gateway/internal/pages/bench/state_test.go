package bench

import (
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	trade "tackfree/pkg/finish"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/titles"
	"tackfree/services/gateway/internal/words"
)

func stage(id, kind, part string, state workflowv1.Stage_State) *workflowv1.Stage {
	return &workflowv1.Stage{Name: "pieces/p/stages/" + id, Key: id, Kind: kind, PartLabel: part, State: state, Pass: 1}
}

func next(st *workflowv1.Stage) *workflowv1.NextStage {
	return &workflowv1.NextStage{Stage: st, Piece: "pieces/p", PieceTag: 412}
}

// floor is a helper's day: on the second coat, a scuff after it, and something that dries.
func floor() *shop {
	coat, scuff := stage("paint-2", "paint_coat", "doors", workflowv1.Stage_STATE_IN_WORK), stage("scuff", "scuff_sand", "doors", workflowv1.Stage_STATE_WAITING)
	coat.ProductName, coat.AttendedMinutes, coat.UnattendedMinutes, coat.Station = "Chalk blue paint", 25, 270, "booth"
	coat.Cautions = []*workflowv1.Caution{{Id: "fire", Text: "It burns."}}
	scuff.After = []string{coat.Name}
	dries, ready := stage("topcoat", "topcoat_coat", "top", workflowv1.Stage_STATE_DRYING), stage("sand", "sand", "case", workflowv1.Stage_STATE_READY)
	dries.ReadyTime = timestamppb.New(noon.Add(80 * time.Minute))
	return &shop{stages: []*workflowv1.Stage{coat, scuff, dries, ready},
		needs: []*materialsv1.Need{{Stage: coat.Name, Method: "hvlp", Expected: &typev1.Quantity{Value: "0.12", Unit: "L"}}},
		day: &workflowv1.GetDayResponse{Running: []*workflowv1.ClockEntry{{Name: "clockEntries/1", Stage: coat.Name, StageKind: coat.Kind, PieceTag: 412, StartTime: timestamppb.New(noon.Add(-time.Hour))}},
			Assigned: []*workflowv1.NextStage{next(scuff), next(dries), next(ready)}, OpenReviews: 2, MoreNextStages: 1}}
}

func TestState(t *testing.T) {
	var s State
	if code := call(t, kitOf(floor()), http.MethodGet, "/bench/state", "", &s); code != http.StatusOK {
		t.Fatal(code)
	}
	if s.Name != "Bao" || s.Person != "people/bao" || s.Form == "" || s.Zone != "America/Chicago" || !s.Now.Equal(noon) {
		t.Errorf("State = %+v, want Bao's at noon, Chicago", s)
	}
	if s.On == nil || s.On.Title != "paint coat 2 · doors" || s.On.Tag != 412 || s.On.Job == nil || !s.On.Job.Finishable {
		t.Fatalf("On = %+v, want the paint coat", s.On)
	}
	facts := map[string]string{}
	for _, f := range s.On.Job.Facts {
		facts[f.Label] = f.Text
	}
	for label, want := range map[string]string{"With": "Chalk blue paint", "By": "hvlp", "Takes": "about 120 mL", "Hands on": "25 min", "Then leave it": "4:30 h"} {
		if facts[label] != want {
			t.Errorf("%s = %q, want %q", label, facts[label], want)
		}
	}
	var titles, because []string
	for _, j := range s.Jobs {
		titles, because = append(titles, j.Title), append(because, j.Because)
	}
	if want := []string{"sand · case", "scuff sand · doors", "topcoat coat · top"}; !slices.Equal(titles, want) {
		t.Errorf("jobs = %v, want %v: what can start comes first", titles, want)
	}
	if want := []string{"", "Before it: paint coat 2 · doors.", "It dries below; forecast until 13:20."}; !slices.Equal(because, want) {
		t.Errorf("because = %v, want %v", because, want)
	}
	if !strings.Contains(s.Reviews, "2") || s.More != "and 1 more" {
		t.Errorf("reviews %q, more %q", s.Reviews, s.More)
	}
}

// Without materials there is less to say, no more; an error of ours is one.
// Who is on a piece that was sold sees it as long as they are on it.
func TestState_Sold(t *testing.T) {
	for _, is := range []bool{false, true} {
		sh := floor()
		sh.sold = is
		var s State
		if call(t, kitOf(sh), http.MethodGet, "/bench/state", "", &s); s.On == nil || strings.Contains(s.On.Sold, "was sold") != is {
			t.Errorf("sold %t: on %+v", is, s.On)
		}
	}
}

// Who is on a piece that came back is told that it is here to be mended, not that it was sold.
func TestState_CameBack(t *testing.T) {
	sh := floor()
	sh.sold = true
	sh.board = []*workflowv1.BoardLine{{Piece: titles.PieceOf(sh.day.Running[0].Stage), Comeback: "comebacks/1"}}
	var s State
	if call(t, kitOf(sh), http.MethodGet, "/bench/state", "", &s); s.On == nil || s.On.Sold != "This piece is sold, and here to be mended." {
		t.Errorf("on %+v", s.On)
	}
}

func TestState_WithoutNeeds(t *testing.T) {
	sh := floor()
	sh.needs, sh.needsErr = nil, fault.New(fault.Unavailable, "AWAY", "Away.")
	var s State
	if code := call(t, kitOf(sh), http.MethodGet, "/bench/state", "", &s); code != http.StatusOK || s.On == nil {
		t.Errorf("= %d, %+v, want the state without needs", code, s)
	}
	sh.needsErr = fault.New(fault.Internal, "BROKEN", "Broken.")
	if code := call(t, kitOf(sh), http.MethodGet, "/bench/state", "", nil); code != http.StatusInternalServerError {
		t.Errorf("= %d, want %d", code, http.StatusInternalServerError)
	}
}

// The catalogue's cautions are those of the trade, word for word, and whole in each language.
func TestCautions(t *testing.T) {
	en, es := &words.Voice{Language: "en"}, &words.Voice{Language: "es"}
	for _, id := range []string{"lead", "stripper", "dust", "fire", "oily-rags", "lead-residue", "two-part", "vapour"} {
		h, _ := trade.FindHazard(id)
		if key := "bench.caution." + id; en.T(key) != h.Text || !es.Has(key) {
			t.Errorf("%s = %q, want %q; in Spanish: %t", id, en.T(key), h.Text, es.Has(key))
		}
	}
	c := []*workflowv1.Caution{{Id: "fire", Text: "As it came."}, {Id: "new", Text: "As it came."}}
	if got := cautionsOf(c, es); got[0].Text == "As it came." || got[1].Text != "As it came." {
		t.Errorf("cautionsOf = %v, want the first in Spanish, and the unknown one as it came", got)
	}
}

func TestSoonest(t *testing.T) {
	early, late := noon, noon.Add(time.Hour)
	got := soonest([]Wet{{Tag: 1, Ready: &late}, {Tag: 3, Closes: &early}, {Tag: 2, Ready: &early}})
	if got[0].Tag != 2 || got[1].Tag != 3 || got[2].Tag != 1 {
		t.Errorf("soonest = %v", got)
	}
}

// A title from the board is said as titles are said here.
func TestNamed(t *testing.T) {
	v := &words.Voice{Language: "en"}
	for title, want := range map[string]string{"topcoat-2 (left door)": "topcoat coat 2 · left door", "topcoat": "topcoat coat"} {
		if got := named("topcoat_coat", title, v); got != want {
			t.Errorf("named(%q) = %q, want %q", title, got, want)
		}
	}
}

func TestTagIn(t *testing.T) {
	for typed, want := range map[string]string{"412": "412", "#412": "412", "https://shop.example/pieces/412": "412", "/pieces/412/": "412"} {
		if got := tagIn(typed); got != want {
			t.Errorf("tagIn(%q) = %q, want %q", typed, got, want)
		}
	}
}

// The shell says nothing of anybody, even if a browser sends who it is.
func TestShell(t *testing.T) {
	r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/bench/shell?language=es&theme=dark", nil)
	r.AddCookie(&http.Cookie{Name: "tackfree_session", Value: "secret"})
	h := kitOf(floor())
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	var s State
	call(t, h, http.MethodGet, "/bench/state", "", &s)
	page := w.Body.String()
	if w.Code != http.StatusOK || strings.Contains(page, "Bao") || strings.Contains(page, s.Form) {
		t.Errorf("shell = %d, with a name or a key: %s", w.Code, page)
	}
	if !strings.Contains(page, `lang="es" data-theme="dark"`) || !strings.Contains(page, "Mi banco") {
		t.Errorf("shell is not as its reader reads: %.300s", page)
	}
}

// The worker looks after all pages, and a phone without a session gets it too.
func TestWorker(t *testing.T) {
	w := httptest.NewRecorder()
	kitOf(&shop{}).ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/sw.js", nil))
	if w.Code != http.StatusOK || w.Header().Get("Service-Worker-Allowed") != "/" || !strings.HasPrefix(w.Header().Get("Content-Type"), "text/javascript") {
		t.Errorf("worker = %d %v", w.Code, w.Header())
	}
}

// Each text that scripts say is in each language.
func TestSaid(t *testing.T) {
	for _, language := range words.Languages {
		v := &words.Voice{Language: language}
		for _, key := range said {
			if !v.Has("bench.say." + key) {
				t.Errorf("%s has no bench.say.%s", language, key)
			}
		}
		for _, kind := range Indirect {
			if !v.Has("kind." + kind) {
				t.Errorf("%s has no kind.%s", language, kind)
			}
		}
	}
}

// Why somebody cannot do other stages, and has no shift, is said in the reader's language.
func TestState_InSpanish(t *testing.T) {
	f := &found{day: &workflowv1.GetDayResponse{Absence: "nobody said when they work", AbsenceSaid: &typev1.Said{Reason: "HOURS_NOT_SAID"}},
		next: &workflowv1.ListNextStagesResponse{Obstacles: []string{"2 stages take the skill spray, which Nell does not have.", "Moths."},
			Said: []*typev1.Said{{Reason: "SKILL_LACKING", Figures: map[string]string{"count": "2", "skill": "spray", "person": "Nell"}}, {Reason: "MOTHS"}}}}
	v := &words.Voice{Language: "es", Zone: time.UTC}
	if got := obstaclesOf(f, v); len(got) != 2 || got[0] != "2 etapas piden el oficio «spray», que Nell no tiene." || got[1] != "Moths." {
		t.Errorf("obstacles = %q", got)
	}
	if got := shiftOf(f.day, v, f.now); got != "nadie ha dicho cuándo trabaja" {
		t.Errorf("the shift is %q", got)
	}
}
