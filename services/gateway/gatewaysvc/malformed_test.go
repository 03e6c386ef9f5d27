package gatewaysvc

import (
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/pages/door"
	"tackfree/services/gateway/internal/web"
)

var hour = time.Date(2026, 3, 18, 16, 0, 0, 0, time.UTC)

// bare is services that have nothing, and refuse names as the real ones do.
type bare struct{}

var errForm = fault.New(fault.Invalid, "INVALID_NAME", `"things/xyz" is not a name of the form things/{id}.`)

// Invoke implements grpc.ClientConnInterface.
func (bare) Invoke(_ context.Context, _ string, args, reply any, _ ...grpc.CallOption) error {
	switch out := reply.(type) {
	case *intakev1.GetShopResponse:
		proto.Merge(out, &intakev1.GetShopResponse{CurrencyCode: "USD", TimeZone: "UTC"})
		return nil
	case *workflowv1.RenewAccessResponse:
		proto.Merge(out, &workflowv1.RenewAccessResponse{Admission: &workflowv1.Admission{AccessToken: "t", Person: "people/" + id.New().String(), DisplayName: "Nell",
			Role: typev1.Role_ROLE_OWNER, AccessExpireTime: timestamppb.New(hour.Add(time.Hour))}})
		return nil
	}
	if out, is := reply.(*workflowv1.GetFloorPlanResponse); is {
		out.Plan = &workflowv1.FloorPlan{}
	}
	said, _ := proto.Marshal(args.(proto.Message))
	switch {
	case strings.Contains(string(said), "xyz"):
		return errForm
	case strings.Contains(string(said), id.Nil.String()):
		return fault.New(fault.NotFound, "THING_NOT_FOUND", "There is no such thing; look it up in the list.")
	}
	return nil
}

// NewStream implements grpc.ClientConnInterface.
func (b bare) NewStream(context.Context, *grpc.StreamDesc, string, ...grpc.CallOption) (grpc.ClientStream, error) {
	return &bareStream{}, nil
}

type bareStream struct {
	grpc.ClientStream
	asked proto.Message
}

func (s *bareStream) SendMsg(m any) error { s.asked = m.(proto.Message); return nil }
func (s *bareStream) CloseSend() error    { return nil }
func (s *bareStream) RecvMsg(m any) error { return bare{}.Invoke(context.Background(), "", s.asked, m) }

var named = regexp.MustCompile(`\{[a-z]+\}`)

// Whatever thing an address names in a form that no name has, it is not there: every page says so, as it does of
// a name that nothing has any more, and none what form a name has.
func TestPages_OfAMalformedName(t *testing.T) {
	suite, err := clients.Use(func(string) (grpc.ClientConnInterface, error) { return bare{}, nil })
	if err != nil {
		t.Fatal(err)
	}
	now := func() time.Time { return hour }
	kit := web.New(&web.Kit{Suite: suite, Keeper: &web.Keeper{Door: door.Door{SignInServiceClient: suite.SignIn}, Now: now}, Now: now, Logger: slog.New(slog.DiscardHandler)})
	walked := 0
	var patterns []string
	for _, p := range pages {
		page := p()
		kit.Handle(page)
		for _, routes := range []map[string]web.Handler{page.Routes, page.Open} {
			for pattern := range routes {
				patterns = append(patterns, pattern)
			}
		}
	}
	for _, pattern := range patterns {
		path, get := strings.CutPrefix(pattern, "GET ")
		if !get || !named.MatchString(path) {
			continue
		}
		walked++
		path = named.ReplaceAllString(strings.NewReplacer("{size}", "full", "{$}", "").Replace(path), "xyz")
		w := ask(kit.Handler(), path)
		if to := w.Header().Get("Location"); w.Code == http.StatusSeeOther && strings.Contains(to, "xyz") {
			w = ask(kit.Handler(), to)
		}
		body := w.Body.String()
		if w.Code != http.StatusNotFound || strings.Contains(body, "of the form") {
			t.Errorf("%s: %d\n%s", path, w.Code, body)
		}
	}
	if walked < 15 {
		t.Errorf("only %d routes name a thing", walked)
	}
}

func ask(h http.Handler, path string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(http.MethodGet, path, nil)
	r.AddCookie(&http.Cookie{Name: "tackfree_session", Value: "secret"})
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}
