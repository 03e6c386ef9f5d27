package pieces_test

import (
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/pages/pieces"
	"tackfree/services/gateway/internal/web"
)

// counter takes pieces in, and keeps what it was last asked to.
type counter struct {
	intakev1.IntakeServiceClient
	intakev1.ClientServiceClient
	intakev1.CommissionServiceClient
	asked   *intakev1.TakeInPieceRequest
	brought *intakev1.BringPieceRequest
	refuses error
	unlike  error // of what is brought
}

func (c *counter) GetClient(_ context.Context, r *intakev1.GetClientRequest, _ ...grpc.CallOption) (*intakev1.GetClientResponse, error) {
	return &intakev1.GetClientResponse{Client: &intakev1.Client{Name: r.Name, Details: &intakev1.ClientDetails{DisplayName: "Ana <Ruiz>"}}}, nil
}

func (c *counter) BringPiece(_ context.Context, r *intakev1.BringPieceRequest, _ ...grpc.CallOption) (*intakev1.BringPieceResponse, error) {
	c.brought = r
	return &intakev1.BringPieceResponse{}, c.unlike
}

func (c *counter) GetShop(context.Context, *intakev1.GetShopRequest, ...grpc.CallOption) (*intakev1.GetShopResponse, error) {
	return &intakev1.GetShopResponse{CurrencyCode: "EUR", TimeZone: "Europe/Madrid"}, nil
}

func (c *counter) TakeInPiece(_ context.Context, r *intakev1.TakeInPieceRequest, _ ...grpc.CallOption) (*intakev1.TakeInPieceResponse, error) {
	if c.refuses != nil {
		return nil, c.refuses
	}
	c.asked = r
	return &intakev1.TakeInPieceResponse{Piece: &intakev1.Piece{Name: "pieces/p412", Tag: 412}}, nil
}

// door lets anybody in whose secret is a role's name.
type door struct{}

func (door) Renew(_ context.Context, secret string) (web.Access, error) {
	role := map[string]typev1.Role{"helper": typev1.Role_ROLE_HELPER, "lead": typev1.Role_ROLE_LEAD}[secret]
	return web.Access{User: web.User{Person: "people/1", Name: "Nadia", Role: role}, Token: secret, Expires: time.Now().Add(time.Hour)}, nil
}

// send gives the form as somebody who reads in a language; without fields it asks for it.
func send(t *testing.T, c *counter, who, language string, fields url.Values) (int, string, http.Header) {
	t.Helper()
	kit := web.New(&web.Kit{Suite: &clients.Suite{Intake: c, Clients: c, Commissions: c}, Keeper: &web.Keeper{Door: door{}, Now: time.Now}, Logger: slog.New(slog.DiscardHandler), Now: time.Now})
	kit.Handle(pieces.Page())
	do := func(method, body string) *httptest.ResponseRecorder {
		r := httptest.NewRequestWithContext(t.Context(), method, "/pieces/new", strings.NewReader(body))
		r.AddCookie(&http.Cookie{Name: "tackfree_session", Value: who})
		r.Header.Set("Accept-Language", language)
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		w := httptest.NewRecorder()
		kit.Handler().ServeHTTP(w, r)
		return w
	}
	page := do(http.MethodGet, "")
	if fields == nil {
		return page.Code, page.Body.String(), page.Header()
	}
	_, rest, _ := strings.Cut(page.Body.String(), `data-form="`)
	key, _, _ := strings.Cut(rest, `"`)
	fields.Set("form", key)
	done := do(http.MethodPost, fields.Encode())
	return done.Code, done.Body.String(), done.Header()
}

func euros(units int64, nanos int32) *moneyv1.Money {
	return &moneyv1.Money{CurrencyCode: "EUR", Units: units, Nanos: nanos}
}

func TestTakeIn(t *testing.T) {
	cm := func(v string) *typev1.Quantity { return &typev1.Quantity{Value: v, Unit: "cm"} }
	whole := []*intakev1.Part{{Label: "whole"}}
	cases := map[string]struct {
		form url.Values
		want *intakev1.TakeInPieceRequest
	}{
		"Bought": {url.Values{"title": {"Pine dresser"}, "kind": {"dresser"}, "origin": {"bought"}, "price": {"35,50"}, "source": {"barn sale"}, "client": {"left over"}, "size": {"medium"}, "condition": {"worn"}, "unit": {"cm"},
			"label": {"top", "drawer", ""}, "count": {"", "3", ""}, "length": {"120.5", "", ""}, "width": {"50", "", ""}, "thickness": {"2", "", ""}, "tag": {"412"}},
			&intakev1.TakeInPieceRequest{Title: "Pine dresser", Kind: "dresser", Tag: 412, Size: typev1.PieceSize_PIECE_SIZE_MEDIUM, Condition: typev1.PieceCondition_PIECE_CONDITION_WORN,
				Origin: &intakev1.TakeInPieceRequest_Purchase{Purchase: &intakev1.Purchase{Price: euros(35, 500_000_000), Source: "barn sale"}},
				Parts:  []*intakev1.Part{{Label: "top", Length: cm("120.5"), Width: cm("50"), Thickness: cm("2")}, {Label: "drawer", Count: 3}}}},
		"AClients": {url.Values{"title": {"Chair"}, "kind": {"other"}, "other": {"prie-dieu"}, "origin": {"client"}, "client": {"R. Okafor"}, "price": {""}, "label": {"whole"}},
			&intakev1.TakeInPieceRequest{Title: "Chair", Kind: "prie-dieu", Origin: &intakev1.TakeInPieceRequest_Commission{Commission: &intakev1.Commission{Client: "R. Okafor"}}, Parts: whole}},
		"OffARule": {url.Values{"title": {"Chair"}, "kind": {"chair"}, "origin": {"client"}, "client": {"R. Okafor"}, "label": {"seat"}, "length": {"18 1/2"}, "width": {"18½"}, "thickness": {"3/4"}, "unit": {"in"}},
			&intakev1.TakeInPieceRequest{Title: "Chair", Kind: "chair", Origin: &intakev1.TakeInPieceRequest_Commission{Commission: &intakev1.Commission{Client: "R. Okafor"}},
				Parts: []*intakev1.Part{{Label: "seat", Length: &typev1.Quantity{Value: "18.5", Unit: "in"}, Width: &typev1.Quantity{Value: "18.5", Unit: "in"}, Thickness: &typev1.Quantity{Value: "0.75", Unit: "in"}}}}},
		"TypedWins": {url.Values{"title": {"Chair"}, "kind": {"dresser"}, "other": {"prie-dieu"}, "origin": {"client"}, "client": {"R. Okafor"}, "label": {"whole"}},
			&intakev1.TakeInPieceRequest{Title: "Chair", Kind: "prie-dieu", Origin: &intakev1.TakeInPieceRequest_Commission{Commission: &intakev1.Commission{Client: "R. Okafor"}}, Parts: whole}},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			shop := &counter{}
			status, body, header := send(t, shop, "lead", "en", c.form)
			if status != http.StatusSeeOther || header.Get("Location") != "/pieces/412" {
				t.Fatalf("%d to %q\n%s", status, header.Get("Location"), body)
			}
			shop.asked.RequestId = ""
			if !proto.Equal(shop.asked, c.want) {
				t.Errorf("sent %v\nwant %v", shop.asked, c.want)
			}
		})
	}
}

// What is refused is shown again as it was typed, in the reader's words.
func TestTakeIn_Refused(t *testing.T) {
	typed := url.Values{"title": {"<b>Pine</b>"}, "kind": {"other"}, "other": {"prie-dieu"}, "origin": {"bought"}, "price": {"12"}, "label": {"", "leg"}, "length": {"", "70"}, "unit": {"in"}}
	taken := fault.New(fault.Exists, "TAG_TAKEN", "Another piece already has this tag number.")
	for name, c := range map[string]struct {
		change  url.Values
		refuses error
		status  int
		says    string
	}{
		"BeforeItIsSent": {url.Values{"price": {""}}, nil, http.StatusBadRequest, "pon 0 si fue un regalo"},
		"NoNumber":       {url.Values{"length": {"", "long"}}, nil, http.StatusBadRequest, "«long» no es un número"},
		"ByTheService":   {nil, taken, http.StatusConflict, "Otra pieza ya tiene esa etiqueta"},
	} {
		t.Run(name, func(t *testing.T) {
			form := url.Values{}
			for field, values := range typed {
				form[field] = values
			}
			for field, values := range c.change {
				form[field] = values
			}
			status, body, _ := send(t, &counter{refuses: c.refuses}, "lead", "es", form)
			if status != c.status {
				t.Errorf("status %d, want %d", status, c.status)
			}
			for _, want := range []string{c.says, `value="&lt;b&gt;Pine&lt;/b&gt;"`, `value="leg"`, "<option value=\"in\" selected>in</option>", `value="prie-dieu"`, `<option value="other" selected>`} {
				if !strings.Contains(body, want) {
					t.Errorf("the page does not say %q", want)
				}
			}
			if strings.Contains(body, "[takein") || strings.Contains(body, "%!") {
				t.Error("a text is in no catalogue")
			}
		})
	}
}

// Who measures in inches gets the letters of the keyboard for measures, for fractions are not on a pad of figures.
func TestTakeIn_Keyboard(t *testing.T) {
	for language, mode := range map[string]string{"en-US": "text", "es": "decimal"} {
		if _, body, _ := send(t, &counter{}, "lead", language, nil); !strings.Contains(body, `name="length" inputmode="`+mode+`"`) {
			t.Errorf("in %s measures are not typed with %s", language, mode)
		}
	}
}

// Nothing is chosen for whoever takes a piece in.
func TestTakeIn_Kind(t *testing.T) {
	_, body, _ := send(t, &counter{}, "lead", "en", nil)
	if !strings.Contains(body, `<select name="kind" required><option value="">choose</option>`) || strings.Contains(body, "selected>dresser") {
		t.Error("a kind is chosen before anybody chose it")
	}
	for _, kind := range []string{"", "other"} {
		shop := &counter{}
		status, body, _ := send(t, shop, "lead", "en", url.Values{"title": {"Chair"}, "kind": {kind}, "origin": {"bought"}, "price": {"3"}, "label": {"whole"}})
		if status != http.StatusBadRequest || shop.asked != nil || !strings.Contains(body, "Say what it is.") {
			t.Errorf("%q: %d, sent %v", kind, status, shop.asked)
		}
	}
}

func TestTakeIn_IsForLeads(t *testing.T) {
	if status, _, _ := send(t, &counter{}, "helper", "en", nil); status != http.StatusForbidden {
		t.Errorf("a helper gets %d, want 403", status)
	}
}
