package plan

import (
	"cmp"
	"net/http"
	"path"
	"strings"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// stagePath is the small page of pieces/{piece}/stages/{id}.
func stagePath(stage string) string {
	piece, id, _ := strings.Cut(strings.TrimPrefix(stage, "pieces/"), "/stages/")
	return "/plan/stage/" + piece + "/" + id
}

// pinning is a stage's small page: where the plan has it, and where somebody wants it.
type pinning struct {
	Stage    string
	Bar      *bar                      // nil: the plan has no place for it
	Unplaced *workflowv1.UnplacedStage // then why
	People   []*workflowv1.Presence
	Person   string // people/{id}, chosen
	Start    string // by the clock of the shop, as browsers write it
}

// wallClock is how browsers write a day and a time.
const wallClock = "2006-01-02T15:04"

var errNoStage = fault.New(fault.NotFound, "STAGE_NOT_FOUND", "The plan knows no such stage: it is finished, or was taken out of its piece. Look at the plan again.")

// pinningOf reads the plan and finds a stage in it.
func (p *plan) pinningOf(a *web.Asked, stage string) (*pinning, error) {
	now, err := p.read(a)
	if err != nil {
		return nil, err
	}
	it := &pinning{Stage: stage, People: now.Presence}
	for _, s := range now.Stages {
		if s.Stage == stage {
			it.Bar, it.Person = barOf(s, a.Voice), s.Person
			if s.TimePinned {
				it.Start = s.StartTime.AsTime().In(a.Voice.Zone).Format(wallClock)
			}
			return it, nil
		}
	}
	for _, u := range now.Unplaced {
		if u.Stage == stage {
			it.Unplaced = u
			return it, nil
		}
	}
	return nil, errNoStage
}

func (p *plan) showStage(w http.ResponseWriter, a *web.Asked) error {
	it, err := p.pinningOf(a, path.Join("pieces", a.PathValue("piece"), "stages", a.PathValue("id")))
	if err != nil {
		return err
	}
	return a.Show(w, "planstage", a.Voice.T("plan.stage.title"), it)
}

// startOf is when a form has a stage begin: an instant from the script, or the clock on the wall.
func startOf(a *web.Asked) (*timestamppb.Timestamp, error) {
	f := &typed.Form{Voice: a.Voice}
	start := f.AnInstant(cmp.Or(a.Typed("at"), a.Typed("start")))
	return start, f.Err()
}

func (p *plan) pin(w http.ResponseWriter, a *web.Asked) error {
	start, err := startOf(a)
	if err == nil {
		_, err = a.Kit.Suite.Planning.PinStage(a.Context(), &workflowv1.PinStageRequest{RequestId: a.RequestID(), Stage: a.Typed("stage"), Person: a.Typed("person"), StartTime: start})
	}
	return p.pinned(w, a, err, "plan.pinned")
}

func (p *plan) unpin(w http.ResponseWriter, a *web.Asked) error {
	_, err := a.Kit.Suite.Planning.UnpinStage(a.Context(), &workflowv1.UnpinStageRequest{RequestId: a.RequestID(), Stage: a.Typed("stage")})
	return p.pinned(w, a, err, "plan.unpinned")
}

// pinned answers a form, or the script, which stays on its page.
func (p *plan) pinned(w http.ResponseWriter, a *web.Asked, err error, said string) error {
	byScript := a.Header.Get(web.FormHeader) != ""
	switch {
	case err == nil && byScript:
		w.WriteHeader(http.StatusNoContent)
		return nil
	case err == nil:
		return a.After(w, "/plan", said)
	case byScript || fault.Of(err) == nil:
		return err
	}
	it, notFound := p.pinningOf(a, a.Typed("stage"))
	if notFound != nil {
		return err
	}
	it.Person, it.Start = a.Typed("person"), a.Typed("start")
	return a.ShowRefused(w, "planstage", a.Voice.T("plan.stage.title"), it, err)
}
