package photos_test

import (
	"bytes"
	"context"
	"io"
	"log/slog"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/gateway/internal/pages/photos"
	"tackfree/services/gateway/internal/web"
)

var now = time.Date(2026, 3, 18, 16, 0, 0, 0, time.UTC)

// intake has one piece.
type intake struct{ intakev1.IntakeServiceClient }

func (intake) GetShop(context.Context, *intakev1.GetShopRequest, ...grpc.CallOption) (*intakev1.GetShopResponse, error) {
	return &intakev1.GetShopResponse{CurrencyCode: "USD", TimeZone: "UTC"}, nil
}

func (intake) GetPiece(_ context.Context, r *intakev1.GetPieceRequest, _ ...grpc.CallOption) (*intakev1.GetPieceResponse, error) {
	if r.Name != "pieces/tag:401" {
		return nil, fault.New(fault.NotFound, "PIECE_NOT_FOUND", "There is no such piece.")
	}
	return &intakev1.GetPieceResponse{Piece: &intakev1.Piece{Name: "pieces/x"}}, nil
}

// album takes photos as they are sent, and gives one back.
type album struct {
	intakev1.PhotoServiceClient
	sent    []*intakev1.UploadPhotoRequest
	closed  bool
	refuse  error
	picture []byte
	asked   *intakev1.DownloadPhotoRequest
}

type taking struct {
	grpc.ClientStreamingClient[intakev1.UploadPhotoRequest, intakev1.UploadPhotoResponse]
	a *album
}

func (a *album) UploadPhoto(context.Context, ...grpc.CallOption) (grpc.ClientStreamingClient[intakev1.UploadPhotoRequest, intakev1.UploadPhotoResponse], error) {
	return taking{a: a}, nil
}

func (s taking) Send(m *intakev1.UploadPhotoRequest) error {
	s.a.sent = append(s.a.sent, m)
	if s.a.refuse != nil {
		return io.EOF
	}
	return nil
}

func (s taking) CloseAndRecv() (*intakev1.UploadPhotoResponse, error) {
	s.a.closed = true
	return &intakev1.UploadPhotoResponse{}, s.a.refuse
}

func (a *album) GetPhotoUpload(_ context.Context, r *intakev1.GetPhotoUploadRequest, _ ...grpc.CallOption) (*intakev1.GetPhotoUploadResponse, error) {
	return &intakev1.GetPhotoUploadResponse{KeptBytes: int64(len(r.Name))}, nil
}

type giving struct {
	grpc.ServerStreamingClient[intakev1.DownloadPhotoResponse]
	left []*intakev1.DownloadPhotoResponse
}

func (s *giving) Recv() (*intakev1.DownloadPhotoResponse, error) {
	if len(s.left) == 0 {
		return nil, io.EOF
	}
	r := s.left[0]
	s.left = s.left[1:]
	return r, nil
}

func (a *album) DownloadPhoto(_ context.Context, r *intakev1.DownloadPhotoRequest, _ ...grpc.CallOption) (grpc.ServerStreamingClient[intakev1.DownloadPhotoResponse], error) {
	a.asked = r
	s := &giving{left: []*intakev1.DownloadPhotoResponse{{Part: &intakev1.DownloadPhotoResponse_Header_{Header: &intakev1.DownloadPhotoResponse_Header{ContentType: "image/jpeg"}}}}}
	for chunk := range bytes.SplitSeq(a.picture, []byte("|")) {
		s.left = append(s.left, &intakev1.DownloadPhotoResponse{Part: &intakev1.DownloadPhotoResponse_Chunk{Chunk: chunk}})
	}
	return s, nil
}

type door struct{}

func (door) Renew(context.Context, string) (web.Access, error) {
	return web.Access{User: web.User{Name: "Bao", Role: typev1.Role_ROLE_HELPER}, Token: "t", Expires: now.Add(time.Hour)}, nil
}

func setup(a *album) http.Handler {
	clock := func() time.Time { return now }
	kit := web.New(&web.Kit{Suite: &clients.Suite{Intake: intake{}, Photos: a}, Keeper: &web.Keeper{Door: door{}, Now: clock}, Logger: slog.New(slog.DiscardHandler), Now: clock})
	kit.Handle(photos.Page())
	kit.Handle(web.Page{Routes: map[string]web.Handler{"GET /key": func(w http.ResponseWriter, a *web.Asked) error {
		_, err := io.WriteString(w, a.FormKey())
		return err
	}}})
	return kit.Handler()
}

func send(t *testing.T, pages http.Handler, r *http.Request) *httptest.ResponseRecorder {
	t.Helper()
	r.AddCookie(&http.Cookie{Name: "tackfree_session", Value: "s"})
	w := httptest.NewRecorder()
	pages.ServeHTTP(w, r)
	return w
}

// form is an upload: its fields in order, name and value in turn, and then the file unless it is nil.
func form(t *testing.T, to string, file []byte, fields ...string) *http.Request {
	t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for i := 0; i < len(fields); i += 2 {
		if err := m.WriteField(fields[i], fields[i+1]); err != nil {
			t.Fatal(err)
		}
	}
	if file != nil {
		part, err := m.CreateFormFile("photo", "IMG_1.jpg")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := part.Write(file); err != nil {
			t.Fatal(err)
		}
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, to, &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	return r
}

func key(t *testing.T, pages http.Handler) string {
	t.Helper()
	return send(t, pages, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/key", nil)).Body.String()
}

// A file goes to intake as it is, in messages of which the first says of what it is.
func TestAdd(t *testing.T) {
	a := &album{}
	pages := setup(a)
	file := bytes.Repeat([]byte("0123456789abcdef"), 20_000) // more than two messages hold
	w := send(t, pages, form(t, "/pieces/401/photos", file, "form", key(t, pages), "request_id", "018f3b8e-0000-7000-8000-00000000abcd",
		"piece", "pieces/another", "moment", "defect", "part", "pieces/x/parts/top", "note", " runs "))
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/pieces/401" {
		t.Fatalf("status %d to %q: %s", w.Code, w.Header().Get("Location"), w.Body)
	}
	var got []byte
	for i, m := range a.sent {
		if (m.Header != nil) != (i == 0) || m.RequestId != "018f3b8e-0000-7000-8000-00000000abcd" || len(m.Chunk) > 256<<10 {
			t.Errorf("message %d: %v, %s, %d bytes", i, m.Header, m.RequestId, len(m.Chunk))
		}
		got = append(got, m.Chunk...)
	}
	h := a.sent[0].Header
	if h.Piece != "pieces/x" || h.Part != "pieces/x/parts/top" || h.Moment != intakev1.Photo_MOMENT_DEFECT || h.Note != "runs" {
		t.Errorf("the header is %v", h)
	}
	if !bytes.Equal(got, file) || !a.closed {
		t.Errorf("%d bytes came of %d; closed: %t", len(got), len(file), a.closed)
	}
}

// A script sends a file in slices, asks how much of it came, and is told where to go when it is whole.
func TestAdd_InSlices(t *testing.T) {
	a := &album{}
	pages := setup(a)
	w := send(t, pages, form(t, "/pieces/401/photos", []byte("half"), "form", key(t, pages), "request_id", "r", "moment", "after", "resume_at", "400", "more_follows", "1"))
	if h := a.sent[0].Header; w.Code != http.StatusNoContent || h.ResumeAt != 400 || !h.MoreFollows {
		t.Errorf("a slice: status %d, %v", w.Code, h)
	}
	w = send(t, pages, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/photo-uploads/r12", nil))
	if w.Code != http.StatusOK || w.Body.String() != "16" {
		t.Errorf("how much came: status %d, %q", w.Code, w.Body)
	}
	a.sent = nil
	w = send(t, pages, form(t, "/pieces/401/photos", []byte("rest"), "form", key(t, pages), "request_id", "r", "moment", "after", "then", "/bench", "resume_at", "404", "by_script", "1"))
	if h := a.sent[0].Header; w.Code != http.StatusOK || w.Body.String() != "/bench" || h.ResumeAt != 404 || h.MoreFollows || !strings.Contains(w.Header().Get("Set-Cookie"), "piece.photo.added") {
		t.Errorf("the last slice: status %d, %q, %v, %v", w.Code, w.Body, h, w.Header())
	}
	w = send(t, pages, form(t, "/pieces/401/photos", []byte("rest"), "form", key(t, pages), "moment", "after", "resume_at", "ten"))
	if w.Code != http.StatusBadRequest {
		t.Errorf("from byte ten: status %d", w.Code)
	}
	a.refuse = fault.New(fault.Precondition, "PHOTO_GOES_ON_ELSEWHERE", "Of this photo 8 bytes are kept.")
	w = send(t, pages, form(t, "/pieces/401/photos", []byte("rest"), "form", key(t, pages), "moment", "after", "resume_at", "4", "by_script", "1"))
	if got := w.Header().Get("X-Tackfree-Reason"); got != "PHOTO_GOES_ON_ELSEWHERE" || w.Code < 400 {
		t.Errorf("a slice that does not fit: status %d for %q", w.Code, got)
	}
}

func TestAdd_GoesBackOnlyHere(t *testing.T) {
	for then, want := range map[string]string{"/bench": "/bench", "https://elsewhere.example/": "/", "//elsewhere.example": "/"} {
		pages := setup(&album{})
		w := send(t, pages, form(t, "/pieces/401/photos", []byte("x"), "form", key(t, pages), "moment", "after", "then", then))
		if got := w.Header().Get("Location"); got != want {
			t.Errorf("then %q: goes to %q, want %q", then, got, want)
		}
	}
}

func TestAdd_Refused(t *testing.T) {
	a := &album{}
	pages := setup(a)
	good := key(t, pages)
	long := strings.Repeat("x", 9<<10)
	for name, c := range map[string]struct {
		r      *http.Request
		status int
		reason string
	}{
		"another's key":      {form(t, "/pieces/401/photos", []byte("x"), "form", "stale", "moment", "after"), 403, "FORM_STALE"},
		"the key comes late": {form(t, "/pieces/401/photos", []byte("x"), "moment", "after", "form", good), 403, "FORM_STALE"},
		"the key elsewhere":  {form(t, "/pieces/401/photos", []byte("x"), "note", good, "moment", "after"), 403, "FORM_STALE"},
		"no file":            {form(t, "/pieces/401/photos", nil, "form", good, "moment", "after"), 400, "PHOTO_NOT_CHOSEN"},
		"no moment":          {form(t, "/pieces/401/photos", []byte("x"), "form", good), 400, "PHOTO_MOMENT_MISSING"},
		"a long field":       {form(t, "/pieces/401/photos", []byte("x"), "form", good, "moment", "after", "note", long), 413, "FORM_TOO_LONG"},
		"no piece":           {form(t, "/pieces/402/photos", []byte("x"), "form", good, "moment", "after"), 404, "PIECE_NOT_FOUND"},
		"too big":            {form(t, "/pieces/401/photos", make([]byte, 27<<20), "form", good, "moment", "after"), 400, "PHOTO_TOO_BIG"},
	} {
		a.closed = false
		w := send(t, pages, c.r)
		if w.Code != c.status || !strings.Contains(w.Body.String(), c.reason) {
			t.Errorf("%s: status %d, want %d and %s: %s", name, w.Code, c.status, c.reason, w.Body)
		}
		if a.closed {
			t.Errorf("%s: a photo was added all the same", name)
		}
	}
}

// What intake refuses in the middle is told as it said it.
func TestAdd_RefusedByIntake(t *testing.T) {
	a := &album{refuse: fault.New(fault.Invalid, "PHOTO_FORMAT", "That is no picture that the shop can read.")}
	pages := setup(a)
	w := send(t, pages, form(t, "/pieces/401/photos", make([]byte, 1<<20), "form", key(t, pages), "moment", "after"))
	if w.Code != http.StatusBadRequest || !strings.Contains(w.Body.String(), "no picture that the shop can read") || len(a.sent) != 1 {
		t.Errorf("status %d after %d messages: %s", w.Code, len(a.sent), w.Body)
	}
}

func TestShow(t *testing.T) {
	a := &album{picture: []byte("JFIF|rest|end")}
	pages := setup(a)
	w := send(t, pages, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/photos/7/thumbnail", nil))
	if w.Code != http.StatusOK || w.Body.String() != "JFIFrestend" || w.Header().Get("Content-Type") != "image/jpeg" || !strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
		t.Errorf("status %d, %v: %q", w.Code, w.Header(), w.Body)
	}
	if a.asked.Name != "photos/7" || a.asked.Size != intakev1.Photo_SIZE_THUMBNAIL {
		t.Errorf("asked for %v", a.asked)
	}
	again := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/photos/7/thumbnail", nil)
	again.Header.Set("If-None-Match", w.Header().Get("ETag"))
	a.asked = nil
	if w := send(t, pages, again); w.Code != http.StatusNotModified || w.Body.Len() != 0 || a.asked != nil {
		t.Errorf("once more: status %d, %d bytes", w.Code, w.Body.Len())
	}
	if w := send(t, pages, httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/photos/7/huge", nil)); w.Code != http.StatusNotFound {
		t.Errorf("a size that there is not: status %d", w.Code)
	}
}
