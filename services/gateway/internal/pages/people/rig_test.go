package people_test

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/clients"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/pages/people"
	"tackfree/services/gateway/internal/web"
)

// noon is the moment by which all answers here are made: a Wednesday.
var noon = time.Date(2026, 3, 18, 17, 0, 0, 0, time.UTC)

// door lets anybody in whose secret is a role's name; helpers are the person that the pages are about.
type door struct{}

func (door) Renew(_ context.Context, secret string) (web.Access, error) {
	role := map[string]typev1.Role{"helper": typev1.Role_ROLE_HELPER, "lead": typev1.Role_ROLE_LEAD, "owner": typev1.Role_ROLE_OWNER}[secret]
	person := "people/" + secret
	if secret == "helper" {
		person = "people/bao"
	}
	return web.Access{User: web.User{Person: person, Name: "Nadia", Role: role}, Token: secret, Expires: noon.Add(time.Hour)}, nil
}

type intake struct{ intakev1.IntakeServiceClient }

func (intake) GetShop(context.Context, *intakev1.GetShopRequest, ...grpc.CallOption) (*intakev1.GetShopResponse, error) {
	return &intakev1.GetShopResponse{CurrencyCode: "EUR", TimeZone: "Europe/Madrid"}, nil
}

// crew is a shop of one helper.
type crew struct {
	mu       sync.Mutex
	person   *workflowv1.Person
	version  int64
	refusing map[string]error // by method
	sent     []proto.Message
}

func (c *crew) ask(method string, r proto.Message) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.sent = append(c.sent, r)
	return c.refusing[method]
}

func (c *crew) last() proto.Message {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.sent[len(c.sent)-1]
}

func (c *crew) read() *workflowv1.Person {
	c.mu.Lock()
	defer c.mu.Unlock()
	p := proto.CloneOf(c.person)
	p.Etag = strconv.Quote(strconv.FormatInt(c.version, 10))
	return p
}

type persons struct {
	workflowv1.PeopleServiceClient
	*crew
}

func (c persons) ListPeople(context.Context, *workflowv1.ListPeopleRequest, ...grpc.CallOption) (*workflowv1.ListPeopleResponse, error) {
	return &workflowv1.ListPeopleResponse{People: []*workflowv1.Person{c.read()}}, nil
}

func (c persons) GetPerson(context.Context, *workflowv1.GetPersonRequest, ...grpc.CallOption) (*workflowv1.GetPersonResponse, error) {
	return &workflowv1.GetPersonResponse{Person: c.read()}, nil
}

func (c persons) AddPerson(_ context.Context, r *workflowv1.AddPersonRequest, _ ...grpc.CallOption) (*workflowv1.AddPersonResponse, error) {
	return &workflowv1.AddPersonResponse{Person: &workflowv1.Person{Name: "people/new"}}, c.ask("AddPerson", r)
}

func (c persons) UpdatePerson(_ context.Context, r *workflowv1.UpdatePersonRequest, _ ...grpc.CallOption) (*workflowv1.UpdatePersonResponse, error) {
	if err := c.ask("UpdatePerson", r); err != nil {
		return nil, err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if err := wire.CheckEtag(r.Person.Etag, c.version); err != nil {
		return nil, err
	}
	c.version++
	c.person = proto.CloneOf(r.Person)
	return &workflowv1.UpdatePersonResponse{}, nil
}

type stations struct {
	workflowv1.StationServiceClient
}

func (stations) ListStations(context.Context, *workflowv1.ListStationsRequest, ...grpc.CallOption) (*workflowv1.ListStationsResponse, error) {
	return &workflowv1.ListStationsResponse{Stations: []*workflowv1.Station{{Name: "stations/booth", DisplayName: "Spray booth"}}}, nil
}

type clocks struct {
	workflowv1.ClockServiceClient
	*crew
}

func (c clocks) ListClockEntries(_ context.Context, r *workflowv1.ListClockEntriesRequest, _ ...grpc.CallOption) (*workflowv1.ListClockEntriesResponse, error) {
	if err := c.ask("ListClockEntries", r); err != nil {
		return nil, err
	}
	return &workflowv1.ListClockEntriesResponse{ClockEntries: []*workflowv1.ClockEntry{{Person: "people/bao", PieceTag: 412, StageKind: "sand"}}}, nil
}

// reader reads pages and fills in forms.
type reader struct {
	t        *testing.T
	at, role string
}

func pages(t *testing.T, c *crew) *reader {
	t.Helper()
	suite := &clients.Suite{Intake: intake{}, People: persons{crew: c}, Stations: stations{}, Clocks: clocks{crew: c}, SignIn: signIn{crew: c}}
	now := func() time.Time { return noon }
	kit := web.New(&web.Kit{Suite: suite, Keeper: &web.Keeper{Door: door{}, Now: now}, Logger: slog.New(slog.DiscardHandler), Now: now})
	kit.Handle(people.Page())
	server := httptest.NewServer(kit.Handler())
	t.Cleanup(server.Close)
	return &reader{t: t, at: server.URL, role: "owner"}
}

func (r *reader) do(method, path string, form url.Values) (int, string) {
	r.t.Helper()
	req, err := http.NewRequestWithContext(r.t.Context(), method, r.at+path, strings.NewReader(form.Encode()))
	if err != nil {
		r.t.Fatal(err)
	}
	req.AddCookie(&http.Cookie{Name: "tackfree_session", Value: r.role})
	if form != nil {
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	answer, err := client.Do(req)
	if err != nil {
		r.t.Fatal(err)
	}
	defer answer.Body.Close()
	b, err := io.ReadAll(answer.Body)
	if err != nil {
		r.t.Fatal(err)
	}
	if m := regexp.MustCompile(`\[(people|person|programs|edits)\.[a-z_.0-9]*\]|%!.*`).FindString(string(b)); m != "" {
		r.t.Errorf("%s has a text that is in no catalogue: %s", path, m)
	}
	return answer.StatusCode, string(b)
}

func (r *reader) get(path string) string {
	r.t.Helper()
	status, body := r.do(http.MethodGet, path, nil)
	if status != http.StatusOK {
		r.t.Fatalf("GET %s = %d\n%s", path, status, body)
	}
	return body
}

var key = regexp.MustCompile(`data-form="([^"]*)"`)

func (r *reader) post(path string, form url.Values) (int, string) {
	r.t.Helper()
	form.Set("form", key.FindStringSubmatch(r.get("/people"))[1])
	return r.do(http.MethodPost, path, form)
}

func (r *reader) sees(body string, want ...string) {
	r.t.Helper()
	for _, w := range want {
		if !strings.Contains(body, w) {
			r.t.Errorf("the page does not say %q", w)
		}
	}
}

func (r *reader) misses(body string, not ...string) {
	r.t.Helper()
	for _, w := range not {
		if strings.Contains(body, w) {
			r.t.Errorf("the page says %q", w)
		}
	}
}
