package gatewaysvc

import (
	"context"
	"log/slog"
	"net/http"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/pages/door"
	"tackfree/services/gateway/internal/web"
)

// strict is bare services that refuse what is asked for in an address otherwise than by its id, in words for programs.
type strict struct{ bare }

// Invoke implements grpc.ClientConnInterface.
func (s strict) Invoke(ctx context.Context, method string, args, reply any, o ...grpc.CallOption) error {
	text := string(must(proto.Marshal(args.(proto.Message))))
	switch {
	case strings.Contains(text, "stale"):
		return fault.New(fault.Invalid, "INVALID_PAGE_TOKEN", "The page token is not one that this list gave.")
	case strings.HasSuffix(method, "/ListCostLines") && strings.Contains(text, "xyz"):
		return fault.New(fault.Invalid, "LINES_OF_WHAT", `"xyz" is not the id of an event.`)
	}
	if out, is := reply.(*intakev1.GetPieceResponse); is && !strings.Contains(text, "xyz") {
		out.Piece = &intakev1.Piece{Name: "pieces/" + id.New().String(), Tag: 101}
		return nil
	}
	return s.bare.Invoke(ctx, method, args, reply, o...)
}

func must(b []byte, err error) []byte {
	if err != nil {
		panic(err)
	}
	return b
}

// What an address names behind its question mark, and the event of a piece, is not there if it has no such name:
// the page says so in words, and of a page that was left too long that it has to be begun again.
func TestPages_OfAStrangeName(t *testing.T) {
	suite, err := clients.Use(func(string) (grpc.ClientConnInterface, error) { return strict{}, nil })
	if err != nil {
		t.Fatal(err)
	}
	now := func() time.Time { return hour }
	kit := web.New(&web.Kit{Suite: suite, Keeper: &web.Keeper{Door: door.Door{SignInServiceClient: suite.SignIn}, Now: now}, Now: now, Logger: slog.New(slog.DiscardHandler)})
	for _, p := range pages {
		kit.Handle(p())
	}
	for path, want := range map[string]struct {
		status int
		says   string
	}{
		"/day/give?stage=xyz":   {http.StatusNotFound, "This link names something that is not there"},
		"/bench/take?piece=xyz": {http.StatusNotFound, "This link names something that is not there"},
		"/pieces/101/why/xyz":   {http.StatusNotFound, "This link names something that is not there"},
		"/pieces?page=stale":    {http.StatusBadRequest, "This link to a further page is too old, or was cut."},
	} {
		w := ask(kit.Handler(), path)
		if body := w.Body.String(); w.Code != want.status || !strings.Contains(body, want.says) || strings.Contains(body, "of the form") || strings.Contains(body, "token") {
			t.Errorf("%s: %d\n%s", path, w.Code, body)
		}
	}
}
