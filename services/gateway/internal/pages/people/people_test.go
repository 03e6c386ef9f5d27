package people_test

import (
	"html"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/timeofday"

	"tackfree/pkg/fault"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func bao() *crew {
	return &crew{version: 3, refusing: map[string]error{}, person: &workflowv1.Person{Name: "people/bao", DisplayName: "Bao <b>", Role: typev1.Role_ROLE_HELPER, Skills: []string{"sand", "spray"},
		Levels:      []*workflowv1.SkillLevel{{Skill: "spray", Level: 3}},
		WorkingDays: []*workflowv1.WorkingDay{{Day: 1, Start: &timeofday.TimeOfDay{Hours: 8}, End: &timeofday.TimeOfDay{Hours: 16, Minutes: 30}}},
		DaysOff:     []*workflowv1.DayOff{{FirstDate: &date.Date{Year: 2026, Month: 3, Day: 17}, LastDate: &date.Date{Year: 2026, Month: 3, Day: 18}, Reason: "a wedding"}}}}
}

func TestList(t *testing.T) {
	c := bao()
	r := pages(t, c)
	body := r.get("/people")
	r.sees(body, "Bao &lt;b&gt;", "helper", "Mon 08:00–16:30", "spray ★", `href="/pieces/412"`, "sand", "away", "a wedding", "until 18 Mar 2026", "/people/programs")
	r.misses(body, "Bao <b>")
	c.refusing["ListClockEntries"] = fault.New(fault.Denied, "NOT_YOURS", "No.")
	r.role = "helper"
	body = r.get("/people")
	r.sees(body, "What each is on now is for the lead and the owner.", "Bao &lt;b&gt;")
	r.misses(body, "/people/programs", "/people/new")
}

// Whoever may not add people is told who may, and sees no page that lacks its form.
func TestNew_IsForTheOwner(t *testing.T) {
	r := pages(t, bao())
	for _, role := range []string{"lead", "helper"} {
		r.role = role
		if status, body := r.do("GET", "/people/new", nil); status != http.StatusForbidden || !strings.Contains(body, "The owner of the shop adds people") {
			t.Errorf("to a %s it answers %d:\n%s", role, status, body)
		}
	}
	r.role = "owner"
	r.sees(r.get("/people/new"), `name="name"`)
}

// Each sees the forms that the services let them use.
func TestPerson_FormsByRole(t *testing.T) {
	r := pages(t, bao())
	for role, has := range map[string][]string{"owner": {"/role", "/pin", "/passphrase", "/unlock", "/end-session", `name="fri.breaks"`}, "lead": {"/pin", "/unlock"}, "helper": {"/pin", "/passphrase", "/end-session", `name="old"`}} {
		r.role = role
		body := r.get("/people/bao")
		r.sees(body, has...)
		for _, form := range []string{"/role", "/pin", "/passphrase", "/unlock", "/end-session", `name="fri.breaks"`} {
			if !slices.Contains(has, form) {
				r.misses(body, form)
			}
		}
	}
}

func opened(t *testing.T, body string) url.Values {
	t.Helper()
	form := url.Values{}
	for _, m := range regexp.MustCompile(`<input(?: type="(?:hidden|time|date)")? name="([a-z_.]+)" value="([^"]*)"`).FindAllStringSubmatch(body, -1) {
		form.Add(m[1], html.UnescapeString(m[2]))
	}
	for _, m := range regexp.MustCompile(`<select name="([a-z_.]+)">.*?<option value="(\d)" selected`).FindAllStringSubmatch(body, -1) {
		form.Set(m[1], m[2])
	}
	if form.Get("was") == "" {
		t.Fatal("there is no form")
	}
	return form
}

func TestChange_TwoOwners(t *testing.T) {
	c := bao()
	r := pages(t, c)
	first, second := opened(t, r.get("/people/bao")), opened(t, r.get("/people/bao"))
	first.Set("skill.sand", "3")
	first.Set("tue.start", "09:00")
	first.Set("tue.end", "12:00")
	if status, body := r.post("/people/bao", first); status != http.StatusSeeOther {
		t.Fatalf("the first: %d\n%s", status, body)
	}
	second.Set("another_skill", "caning")
	status, body := r.post("/people/bao", second)
	if status != http.StatusConflict {
		t.Fatalf("the second: %d, want 409", status)
	}
	r.sees(body, "Somebody changed this", "<div>sand 3</div>", "<div>caning 2</div>", "<div>09:00-12:00</div>", "Tuesday")
	if p := c.read(); slices.Contains(p.Skills, "caning") {
		t.Error("the second's was kept all the same")
	}
	again := opened(t, body)
	if status, body := r.post("/people/bao", again); status != http.StatusSeeOther {
		t.Fatalf("thought over: %d\n%s", status, body)
	}
	p := c.read()
	if !slices.Contains(p.Skills, "caning") || len(p.WorkingDays) != 2 || len(p.DaysOff) != 1 || len(p.Levels) != 2 || p.DisplayName != "Bao <b>" {
		t.Errorf("it is now %v; want what each changed and all the rest", p)
	}
}

func TestChange_Refused(t *testing.T) {
	c := bao()
	r := pages(t, c)
	form := opened(t, r.get("/people/bao"))
	form.Set("mon.breaks", "noon")
	status, body := r.post("/people/bao", form)
	if status != http.StatusBadRequest {
		t.Errorf("%d, want 400", status)
	}
	r.sees(body, "“noon” is not a time of day", `name="mon.breaks" value="noon"`)
	c.refusing["UpdatePerson"] = fault.New(fault.Exists, "PERSON_NAME_TAKEN", "There is a Bao already.")
	form.Set("mon.breaks", "")
	form.Set("name", "Bao")
	_, body = r.post("/people/bao", form)
	r.sees(body, "There is a Bao already.", `name="name" value="Bao"`)
}

func TestAdd(t *testing.T) {
	c := bao()
	r := pages(t, c)
	form := url.Values{"name": {"Lotte"}, "skill.sand": {"1"}, "another_skill": {"caning"}, "another_level": {"3"}, "stations": {"stations/booth"}, "sat.start": {"08:00"}, "sat.end": {"12:00"}}
	if status, _ := r.post("/people", form); status != http.StatusSeeOther {
		t.Fatalf("added: %d, want 303", status)
	}
	if got, is := c.last().(*workflowv1.AddPersonRequest); !is || got.DisplayName != "Lotte" || len(got.Skills) != 2 || len(got.Levels) != 2 || len(got.WorkingDays) != 1 || got.WorkingDays[0].Day != 6 || got.Stations[0] != "stations/booth" {
		t.Errorf("sent %v", c.last())
	}
	c.refusing["AddPerson"] = fault.New(fault.Exists, "PERSON_NAME_TAKEN", "There is a Lotte already.")
	status, body := r.post("/people", form)
	if status != http.StatusConflict {
		t.Errorf("again: %d, want 409", status)
	}
	r.sees(body, "There is a Lotte already.", `value="Lotte"`, `value="08:00"`)
}

// What somebody signs in with is sent to the service and shown in no answer, refused or not.
func TestAccess(t *testing.T) {
	c := bao()
	r := pages(t, c)
	for path, form := range map[string]url.Values{"/pin": {"pin": {"739184"}, "old": {"1"}}, "/passphrase": {"passphrase": {"linseed and patience"}, "once_more": {"linseed and patience"}}, "/role": {"role": {"lead"}}, "/unlock": {}, "/end-session": {"session": {"sessions/1"}}} {
		if status, _ := r.post("/people/bao"+path, form); status != http.StatusSeeOther {
			t.Errorf("%s: %d, want 303", path, status)
		}
	}
	c.refusing["SetPin"] = fault.New(fault.Invalid, "PIN_GUESSABLE", "Anybody would guess that.")
	status, body := r.post("/people/bao/pin", url.Values{"pin": {"739184"}})
	if status != http.StatusBadRequest {
		t.Errorf("a PIN that is refused: %d, want 400", status)
	}
	r.sees(body, "Anybody would guess that.")
	r.misses(body, "739184")
	sent := len(c.sent)
	status, body = r.post("/people/bao/passphrase", url.Values{"passphrase": {"linseed and patience"}, "once_more": {"linseed and haste"}})
	if status != http.StatusBadRequest {
		t.Errorf("two that differ: %d, want 400", status)
	}
	r.sees(body, "not the same")
	r.misses(body, "linseed")
	for _, m := range c.sent[sent:] {
		if _, is := m.(*workflowv1.SetPassphraseRequest); is {
			t.Error("it was sent all the same")
		}
	}
}

func TestPrograms(t *testing.T) {
	c := bao()
	r := pages(t, c)
	r.sees(r.get("/people/programs"), "scales", "reads only", `value="2027-03-18"`)
	form := url.Values{"label": {"ledger"}, "role": {"owner"}, "read_only": {"yes"}, "until": {"2026-12-31"}, "methods": {"tackfree.costing.v1.BooksService\n tackfree.costing.v1.AnswerService"}}
	status, body := r.post("/people/programs", form)
	if status != http.StatusOK {
		t.Fatalf("let in: %d\n%s", status, body)
	}
	r.sees(body, "tackfree_abc", "shown this once")
	r.misses(r.get("/people/programs"), "tackfree_abc")
	var got *workflowv1.CreateTokenRequest
	for _, m := range c.sent {
		if made, is := m.(*workflowv1.CreateTokenRequest); is {
			got = made
		}
	}
	if got.Label != "ledger" || got.Role != typev1.Role_ROLE_OWNER || !got.ReadOnly || len(got.Methods) != 2 || got.ExpireTime.AsTime().Format("2006-01-02") != "2026-12-31" {
		t.Errorf("sent %v", got)
	}
	c.refusing["CreateToken"] = fault.New(fault.Exists, "TOKEN_LABEL_TAKEN", "There is a ledger already.")
	_, body = r.post("/people/programs", form)
	r.sees(body, "There is a ledger already.", `value="ledger"`, "BooksService")
	delete(form, "until")
	_, body = r.post("/people/programs", form)
	r.sees(body, "Say until what day")
}
