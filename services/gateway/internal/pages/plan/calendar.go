package plan

import (
	"context"
	"net/http"
	"path"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/web"
)

// calendar is the page on which somebody's plan is given to a program that keeps calendars.
type calendar struct {
	People  []*workflowv1.Person
	Chosen  string
	Who     string // whose address follows
	Address string // shown this once
	Allowed bool   // whoever reads this may let programs in
}

// feedMethod is the one call that a calendar may give.
const feedMethod = "tackfree.workflow.v1.PlanningService/GetFloorPlan"

// feedLasts is how long a calendar is let in.
const feedLasts = 365 * 24 * time.Hour

func showCalendar(w http.ResponseWriter, a *web.Asked) error {
	return showCalendarWith(w, a, calendar{}, nil)
}

func showCalendarWith(w http.ResponseWriter, a *web.Asked, it calendar, refused error) error {
	var err error
	if it.People, err = everybody(a.Context(), a.Kit.Suite); err != nil {
		return err
	}
	it.Allowed = a.User.Owns()
	return a.ShowRefused(w, "calendar", a.Voice.T("plan.calendar"), it, refused)
}

func everybody(ctx context.Context, s *clients.Suite) ([]*workflowv1.Person, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.Person, string, error) {
		r, err := s.People.ListPeople(ctx, &workflowv1.ListPeopleRequest{PageToken: token})
		return r.GetPeople(), r.GetNextPageToken(), err
	})
}

// subscribe lets a calendar in that may read the plan and nothing else. Its address is shown this once, as
// the secret in it is; so this is no redirect.
func subscribe(w http.ResponseWriter, a *web.Asked) error {
	it := calendar{Chosen: a.Typed("person")}
	who, err := a.Kit.Suite.People.GetPerson(a.Context(), &workflowv1.GetPersonRequest{Name: it.Chosen})
	var r *workflowv1.CreateTokenResponse
	if err == nil {
		r, err = a.Kit.Suite.SignIn.CreateToken(a.Context(), &workflowv1.CreateTokenRequest{Label: label(who.Person.DisplayName), Role: typev1.Role_ROLE_HELPER, ReadOnly: true,
			Methods: []string{feedMethod}, ExpireTime: timestamppb.New(a.Now().Add(feedLasts))})
	}
	if fault.Of(err) != nil {
		return showCalendarWith(w, a, it, err)
	}
	if err != nil {
		return err
	}
	it.Who, it.Address = who.Person.DisplayName, address(a, path.Base(it.Chosen), r.Secret)
	return showCalendarWith(w, a, it, nil)
}

// label is what a calendar is called among the programs that are let in: each has its own.
func label(name string) string {
	if letters := []rune(name); len(letters) > 50 {
		name = string(letters[:50])
	}
	return "Calendar of " + name + ", " + id.New().String()[24:]
}

// address is where the calendar is, as this page was reached.
func address(a *web.Asked, person, secret string) string {
	scheme := "http"
	if a.Kit.Secure {
		scheme = "https"
	}
	return scheme + "://" + a.Host + "/calendar/" + person + "/" + secret + ".ics"
}
