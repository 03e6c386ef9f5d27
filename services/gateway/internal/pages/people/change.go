package people

import (
	"net/http"
	"net/url"
	"path"

	"google.golang.org/protobuf/types/known/fieldmaskpb"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/edits"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// mask is all that the form can change.
var mask = &fieldmaskpb.FieldMask{Paths: []string{"display_name", "skills", "working_days", "days_off", "stations", "active_from", "active_to"}}

// tries is how often a change is sent when somebody else was faster with something that is not of the form.
const tries = 5

// change changes somebody, unless somebody else did so after the form was opened: then it shows both and
// keeps neither.
func change(w http.ResponseWriter, a *web.Asked) error {
	mine := typedValues(a.PostForm)
	was, malformed := url.ParseQuery(a.Typed("was"))
	f := &typed.Form{Values: mine, Voice: a.Voice}
	person := readPerson(f)
	if err := f.Err(); err != nil || malformed != nil {
		return showPersonWith(w, a, &again{values: mine, was: was}, err)
	}
	var err error
	for range tries {
		r, missing := a.Kit.Suite.People.GetPerson(a.Context(), &workflowv1.GetPersonRequest{Name: "people/" + a.PathValue("id")})
		if missing != nil {
			return missing
		}
		if now := valuesOf(r.Person); edits.Changed(fields, was, now, mine) {
			return showPersonWith(w, a, &again{edits.Merge(fields, was, now, mine), now, edits.Compare(fields, was, now, mine)},
				fault.New(fault.Conflict, "CHANGED_MEANWHILE", "%s", a.Voice.T("edits.changed")))
		}
		person.Name, person.Etag = r.Person.Name, r.Person.Etag
		_, err = a.Kit.Suite.People.UpdatePerson(a.Context(), &workflowv1.UpdatePersonRequest{RequestId: a.RequestID(), Person: person, UpdateMask: mask})
		if !fault.Is(err, "ETAG_MISMATCH") {
			break
		}
	}
	if fault.Of(err) != nil {
		return showPersonWith(w, a, &again{values: mine, was: was}, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, a.URL.Path, "person.kept")
}

func showNew(w http.ResponseWriter, a *web.Asked) error {
	if !a.User.Owns() {
		return errOwnerAdds
	}
	return showNewWith(w, a, valuesOf(&workflowv1.Person{}), nil)
}

// errOwnerAdds spares those who may not add people a page without its form.
var errOwnerAdds = fault.New(fault.Denied, "PEOPLE_BY_OWNER", "The owner of the shop adds people; tell them who is to come.")

func showNewWith(w http.ResponseWriter, a *web.Asked, values url.Values, refused error) error {
	k, err := loadKnown(a.Context(), a.Kit.Suite)
	if err != nil {
		return err
	}
	return a.ShowRefused(w, "person", a.Voice.T("person.new"), &onePerson{Form: formOf(values, nil, k)}, refused)
}

// add adds somebody, who then has no PIN yet.
func add(w http.ResponseWriter, a *web.Asked) error {
	mine := typedValues(a.PostForm)
	f := &typed.Form{Values: mine, Voice: a.Voice}
	p := readPerson(f)
	err := f.Err()
	var r *workflowv1.AddPersonResponse
	if err == nil {
		r, err = a.Kit.Suite.People.AddPerson(a.Context(), &workflowv1.AddPersonRequest{RequestId: a.RequestID(), DisplayName: p.DisplayName, Skills: p.Skills, Levels: p.Levels,
			WorkingDays: p.WorkingDays, DaysOff: p.DaysOff, Stations: p.Stations, ActiveFrom: p.ActiveFrom, ActiveTo: p.ActiveTo})
	}
	if fault.Of(err) != nil {
		return showNewWith(w, a, mine, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/people/"+path.Base(r.Person.Name), "person.added")
}
