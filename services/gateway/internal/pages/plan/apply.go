package plan

import (
	"net/http"

	"google.golang.org/protobuf/types/known/fieldmaskpb"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// applyPromise promises the piece by when it was supposed to be; what it is worth stays.
func (p *plan) applyPromise(w http.ResponseWriter, a *web.Asked) error {
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	r := &workflowv1.PromisePieceRequest{RequestId: a.RequestID(), Piece: f.Text("piece"), PromiseTime: f.Instant("by"), KeepUnsaid: true}
	err := f.Err()
	if err == nil {
		_, err = a.Kit.Suite.Stages.PromisePiece(a.Context(), r)
	}
	return p.applied(w, a, err, "plan.promised")
}

// applyAbsence enters the days off. The form says which description of the person it was asked for: if
// somebody changed it meanwhile, that is refused, and nothing of theirs is lost.
func (p *plan) applyAbsence(w http.ResponseWriter, a *web.Asked) error {
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	off := &workflowv1.DayOff{FirstDate: f.Day("first"), LastDate: f.Day("last")}
	if off.LastDate == nil {
		off.LastDate = off.FirstDate
	}
	err := f.Err()
	if err == nil {
		err = addDayOff(a, f.Text("person"), f.Text("etag"), off)
	}
	return p.applied(w, a, err, "plan.absence.entered")
}

func addDayOff(a *web.Asked, name, etag string, off *workflowv1.DayOff) error {
	r, err := a.Kit.Suite.People.GetPerson(a.Context(), &workflowv1.GetPersonRequest{Name: name})
	if err != nil {
		return err
	}
	who := &workflowv1.Person{Name: name, Etag: etag, DaysOff: append(r.Person.DaysOff, off)}
	_, err = a.Kit.Suite.People.UpdatePerson(a.Context(), &workflowv1.UpdatePersonRequest{RequestId: a.RequestID(), Person: who,
		UpdateMask: &fieldmaskpb.FieldMask{Paths: []string{"days_off"}}})
	return err
}

// applied goes back to the plan, or shows again what was supposed with why it cannot be.
func (p *plan) applied(w http.ResponseWriter, a *web.Asked, err error, said string) error {
	switch {
	case err == nil:
		return a.After(w, "/plan", said)
	case fault.Of(err) == nil:
		return err
	}
	return p.showWhatIfWith(w, a, a.PostForm, err)
}
