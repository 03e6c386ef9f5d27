package piece_test

import (
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path"
	"strings"
	"sync"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/encoding/prototext"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/access"
	"tackfree/pkg/caller"
	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/pages/photos"
	"tackfree/services/gateway/internal/pages/piece"
	"tackfree/services/gateway/internal/pages/tags"
	"tackfree/services/gateway/internal/web"
)

var now = time.Date(2026, 3, 18, 16, 0, 0, 0, time.UTC)

// floor is a suite that answers by the names of methods, and notes what it was asked.
// Services that answer the same method each have an answer under the service's name and the method's.
type floor struct {
	answers map[string]proto.Message
	refuses map[string]error
	mu      sync.Mutex
	asked   map[string]proto.Message // the last of each
}

// of is the suite as one of its services.
type of struct {
	*floor
	service string
}

func (o of) Invoke(ctx context.Context, method string, asked, answer any, _ ...grpc.CallOption) error {
	return o.answer(roles[caller.Of(ctx).Token], o.service+" ", method, asked, answer)
}

// answer tells what the role of who asks is told, as the services do.
func (f *floor) answer(role typev1.Role, service, method string, asked, answer any) error {
	name := path.Base(method)
	if _, own := f.answers[service+name]; own || f.refuses[service+name] != nil {
		name = service + name
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	f.asked[name] = proto.Clone(asked.(proto.Message))
	if err := f.refuses[name]; err != nil {
		return err
	}
	if a := f.answers[name]; a != nil {
		proto.Merge(answer.(proto.Message), access.Told(role, a).(proto.Message))
	}
	return nil
}

func (f *floor) NewStream(context.Context, *grpc.StreamDesc, string, ...grpc.CallOption) (grpc.ClientStream, error) {
	return nil, fault.New(fault.Unavailable, "NO_STREAMS", "There are no streams here.")
}

// roles are what those whom the door lets in are, by their secret, which is their token too.
var roles = map[string]typev1.Role{"helper": typev1.Role_ROLE_HELPER, "lead": typev1.Role_ROLE_LEAD, "owner": typev1.Role_ROLE_OWNER}

// door lets in whoever has a role as their secret.
type door struct{}

func (door) Renew(_ context.Context, secret string) (web.Access, error) {
	role, known := roles[secret]
	if !known {
		return web.Access{}, fault.New(fault.Unauthenticated, "SESSION_OVER", "It is over.")
	}
	return web.Access{User: web.User{Person: "people/" + secret, Name: secret, Role: role}, Token: secret, Expires: now.Add(time.Hour)}, nil
}

// bundle is the pages over a floor.
type bundle struct {
	*floor
	t     *testing.T
	suite *clients.Suite
	pages http.Handler
}

func setup(t *testing.T) *bundle {
	t.Helper()
	f := &floor{answers: answers(), refuses: map[string]error{}, asked: map[string]proto.Message{}}
	suite, err := clients.Use(func(name string) (grpc.ClientConnInterface, error) { return of{f, name}, nil })
	if err != nil {
		t.Fatal(err)
	}
	clock := func() time.Time { return now }
	kit := web.New(&web.Kit{Suite: suite, Keeper: &web.Keeper{Door: door{}, Now: clock}, Logger: slog.New(slog.DiscardHandler), Now: clock})
	for _, p := range []web.Page{piece.Page(), photos.Page(), tags.Page()} {
		kit.Handle(p)
	}
	f.answers["GetShop"] = &intakev1.GetShopResponse{CurrencyCode: "USD", TimeZone: "America/Chicago"}
	return &bundle{floor: f, t: t, suite: suite, pages: kit.Handler()}
}

// get reads a page as somebody.
func (b *bundle) get(who, address string) *httptest.ResponseRecorder {
	b.t.Helper()
	return b.send(httptest.NewRequestWithContext(b.t.Context(), http.MethodGet, address, nil), who)
}

func (b *bundle) send(r *http.Request, who string) *httptest.ResponseRecorder {
	r.AddCookie(&http.Cookie{Name: "tackfree_session", Value: who})
	w := httptest.NewRecorder()
	b.pages.ServeHTTP(w, r)
	return w
}

// post sends a form of a page that somebody has open.
func (b *bundle) post(who, address string, fields url.Values) *httptest.ResponseRecorder {
	b.t.Helper()
	fields.Set("form", b.key(who))
	r := httptest.NewRequestWithContext(b.t.Context(), http.MethodPost, address, strings.NewReader(fields.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return b.send(r, who)
}

// key is what the forms of somebody's pages carry.
func (b *bundle) key(who string) string {
	b.t.Helper()
	_, rest, _ := strings.Cut(b.get(who, "/pieces/401").Body.String(), `data-form="`)
	key, _, found := strings.Cut(rest, `"`)
	if !found {
		b.t.Fatal("the page has no key for forms")
	}
	return key
}

// says fails unless the page says all of it.
func (b *bundle) says(w *httptest.ResponseRecorder, status int, all ...string) {
	b.t.Helper()
	if w.Code != status {
		b.t.Errorf("status %d, want %d: %s", w.Code, status, w.Body)
	}
	for _, text := range all {
		if !strings.Contains(w.Body.String(), text) {
			b.t.Errorf("the page does not say %q", text)
		}
	}
}

// keeps fails if the page says any of it.
func (b *bundle) keeps(w *httptest.ResponseRecorder, secrets ...string) {
	b.t.Helper()
	for _, text := range secrets {
		if strings.Contains(w.Body.String(), text) {
			b.t.Errorf("the page says %q", text)
		}
	}
}

// text is a message as text, to look for something in it.
func text(m proto.Message) string { return prototext.MarshalOptions{}.Format(m) }
