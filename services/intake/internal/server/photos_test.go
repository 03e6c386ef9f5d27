package server_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"image"
	"image/jpeg"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

func TestServer_UploadPhoto(t *testing.T) {
	b := setup(t)
	piece := b.take(t, dresser())
	h := header(piece.Name)
	h.Part, h.Moment = piece.Parts[1].Name, intakev1.Photo_MOMENT_DEFECT
	h.Stage, h.Inspection = piece.Name+"/stages/"+svctest.NewID(), "inspections/"+svctest.NewID()
	before := time.Now()
	got := b.add(t, h, shot(t, 1))
	want := &intakev1.Photo{Piece: piece.Name, PieceTag: 1, Number: 1, Part: h.Part, PartLabel: "drawer", Moment: h.Moment, Note: "as found", Stage: h.Stage, Inspection: h.Inspection,
		TakenTime: timestamppb.New(time.Date(2026, 3, 8, 16, 0, 0, 0, time.UTC)), // of the shop's summer time, which began that night
		AddedBy:   svctest.Actor, Width: 1400, Height: 700, ContentType: "image/jpeg", Etag: `"1"`}
	if diff := cmp.Diff(want, got, protocmp.Transform(), protocmp.IgnoreFields(&intakev1.Photo{}, "name", "add_time", "size_bytes", "sha256")); diff != "" {
		t.Errorf("UploadPhoto (-want +got):\n%s", diff)
	}
	if added := got.AddTime.AsTime(); added.Before(before.Truncate(time.Millisecond)) || added.After(time.Now()) {
		t.Errorf("it was added at %v", added)
	}
	read, err := b.GetPhoto(t.Context(), &intakev1.GetPhotoRequest{Name: got.Name})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(got, read.Photo, protocmp.Transform()); diff != "" {
		t.Errorf("GetPhoto differs (-added +read):\n%s", diff)
	}
}

func TestServer_UploadPhoto_WritesItsEvent(t *testing.T) {
	b := setup(t)
	piece := b.take(t, dresser())
	h, request := header(piece.Name), svctest.NewID()
	h.Part = piece.Parts[0].Name
	photo, err := b.send(svctest.Ctx(t), request, h, shot(t, 1), 100_000)
	if err != nil {
		t.Fatal(err)
	}
	e := b.Last(t)
	if e.AggregateKind != "photo" || "photos/"+e.AggregateId != photo.Name || e.Version != 1 || "pieces/"+e.PieceId != piece.Name || e.Actor != svctest.Actor || e.RequestId != request {
		t.Errorf("envelope = %v", e)
	}
	want := &eventsv1.PhotoAdded{PhotoId: e.AggregateId, Number: 1, PartId: piece.Parts[0].Name[len(piece.Name+"/parts/"):],
		Description: &eventsv1.PhotoDescription{Moment: "before", Note: "as found"}, TakenAt: photo.TakenTime, Sha256: photo.Sha256}
	if diff := cmp.Diff(want, e.GetPhotoAdded(), protocmp.Transform()); diff != "" {
		t.Errorf("event (-want +got):\n%s", diff)
	}
	if again := b.take(t, dresser()); again.Tag != 2 {
		t.Errorf("the next piece has tag %d", again.Tag)
	}
	if same, err := b.GetPiece(t.Context(), &intakev1.GetPieceRequest{Name: piece.Name}); err != nil || same.Piece.Etag != piece.Etag {
		t.Errorf("the piece has moved on: %v, %v", same, err)
	}
}

// What was said of when it was taken goes before what the camera says.
func TestServer_UploadPhoto_TakenTime(t *testing.T) {
	b := setup(t)
	piece := b.take(t, dresser())
	h := header(piece.Name)
	h.TakenTime = timestamppb.New(time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC))
	if got := b.add(t, h, shot(t, 1)); !got.TakenTime.AsTime().Equal(h.TakenTime.AsTime()) {
		t.Errorf("TakenTime = %v, want %v", got.TakenTime.AsTime(), h.TakenTime.AsTime())
	}
}

func TestServer_DownloadPhoto(t *testing.T) {
	b := setup(t)
	photo := b.add(t, header(b.take(t, dresser()).Name), shot(t, 1))
	for size, want := range map[intakev1.Photo_Size]image.Point{
		intakev1.Photo_SIZE_UNSPECIFIED: {X: 1400, Y: 700}, intakev1.Photo_SIZE_FULL: {X: 1400, Y: 700},
		intakev1.Photo_SIZE_MEDIUM: {X: 1280, Y: 640}, intakev1.Photo_SIZE_THUMBNAIL: {X: 320, Y: 160},
	} {
		file, head, err := b.download(t, photo.Name, size)
		if err != nil {
			t.Fatal(err)
		}
		img, err := jpeg.Decode(bytes.NewReader(file))
		if err != nil || img.Bounds().Size() != want || head.ContentType != "image/jpeg" || head.SizeBytes != int64(len(file)) {
			t.Errorf("%v: %d bytes, %v, %v, want a JPEG of %v", size, len(file), head, err, want)
		}
		if bytes.Contains(file, []byte("PLANTED")) || bytes.Contains(file, []byte("Exif")) {
			t.Errorf("%v still has the camera's notes", size)
		}
	}
	full, _, err := b.download(t, photo.Name, intakev1.Photo_SIZE_FULL)
	if sum := sha256.Sum256(full); err != nil || hex.EncodeToString(sum[:]) != photo.Sha256 || int64(len(full)) != photo.SizeBytes || len(full) < 512<<10 {
		t.Errorf("the picture of %d bytes is not the one on record: %v, %v", len(full), photo, err)
	}
}

func TestServer_UploadPhoto_Refuses(t *testing.T) {
	b := setup(t)
	piece, other := b.take(t, dresser()), b.take(t, dresser())
	good := shot(t, 1)
	for name, c := range map[string]struct {
		change func(*intakev1.UploadPhotoRequest_Header)
		file   []byte
		kind   fault.Kind
		reason string
	}{
		"no piece":        {func(h *intakev1.UploadPhotoRequest_Header) { h.Piece = id.Name("pieces", id.New()) }, good, fault.NotFound, "PIECE_NOT_FOUND"},
		"a tag":           {func(h *intakev1.UploadPhotoRequest_Header) { h.Piece = "pieces/7" }, good, fault.Invalid, "INVALID_NAME"},
		"another's part":  {func(h *intakev1.UploadPhotoRequest_Header) { h.Part = other.Parts[0].Name }, good, fault.NotFound, "PART_NOT_FOUND"},
		"no part of it":   {func(h *intakev1.UploadPhotoRequest_Header) { h.Part = piece.Name + "/parts/" + svctest.NewID() }, good, fault.NotFound, "PART_NOT_FOUND"},
		"another's stage": {func(h *intakev1.UploadPhotoRequest_Header) { h.Stage = other.Name + "/stages/" + svctest.NewID() }, good, fault.Invalid, "STAGE_OF_ANOTHER_PIECE"},
		"no inspection":   {func(h *intakev1.UploadPhotoRequest_Header) { h.Inspection = "inspections/first" }, good, fault.Invalid, "INVALID_NAME"},
		"no moment":       {func(h *intakev1.UploadPhotoRequest_Header) { h.Moment = 0 }, good, fault.Invalid, "INVALID_FIELD"},
		"a note of lines": {func(h *intakev1.UploadPhotoRequest_Header) { h.Note = "one\ntwo" }, good, fault.Invalid, "INVALID_FIELD"},
		"tomorrow":        {func(h *intakev1.UploadPhotoRequest_Header) { h.TakenTime = timestamppb.New(time.Now().Add(time.Hour)) }, good, fault.Invalid, "TIME_IN_FUTURE"},
		"another file":    {func(h *intakev1.UploadPhotoRequest_Header) { h.ContentSha256 = hex.EncodeToString(make([]byte, 32)) }, good, fault.Invalid, "PHOTO_DAMAGED"},
		"no sum":          {func(h *intakev1.UploadPhotoRequest_Header) { h.ContentSha256 = "abc" }, good, fault.Invalid, "INVALID_FIELD"},
		"nothing":         {nil, nil, fault.Invalid, "PHOTO_EMPTY"},
		"too long":        {nil, make([]byte, 25<<20+1), fault.Invalid, "PHOTO_TOO_BIG"},
		"HEIC":            {nil, []byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00"), fault.Invalid, "PHOTO_FORMAT"},
		"half":            {nil, good[:len(good)/2], fault.Invalid, "PHOTO_UNREADABLE"},
	} {
		h := header(piece.Name)
		if c.change != nil {
			c.change(h)
		}
		t.Run(name, func(t *testing.T) {
			svctest.Refused(t, b.Service, b.uploading(c.file, 256<<10), &intakev1.UploadPhotoRequest{RequestId: svctest.NewID(), Header: h}, c.kind, c.reason)
		})
	}
	svctest.Refused(t, b.Service, b.uploading(good, 256<<10+1), &intakev1.UploadPhotoRequest{RequestId: svctest.NewID(), Header: header(piece.Name)}, fault.Invalid, "INVALID_FIELD")
	svctest.Refused(t, b.Service, b.uploading(good, 256<<10), &intakev1.UploadPhotoRequest{RequestId: svctest.NewID()}, fault.Invalid, "PHOTO_HEADER_MISSING")
	if left := b.files(t); len(left) > 0 {
		t.Errorf("refused photos left %v", left)
	}
}

func TestServer_UploadPhoto_OtherThanOneFile(t *testing.T) {
	b := setup(t)
	piece := b.take(t, dresser())
	request := svctest.NewID()
	head := &intakev1.UploadPhotoRequest{RequestId: request, Header: header(piece.Name)}
	for name, c := range map[string]struct {
		messages []*intakev1.UploadPhotoRequest
		reason   string
	}{
		"nothing":        {nil, "PHOTO_HEADER_MISSING"},
		"two headers":    {[]*intakev1.UploadPhotoRequest{head, head}, "PARTS_DIFFER"},
		"two requests":   {[]*intakev1.UploadPhotoRequest{head, {RequestId: svctest.NewID(), Chunk: []byte{1}}}, "PARTS_DIFFER"},
		"no request":     {[]*intakev1.UploadPhotoRequest{{Header: header(piece.Name)}}, "INVALID_FIELD"},
		"a chunk before": {[]*intakev1.UploadPhotoRequest{{RequestId: request, Chunk: []byte{1}}, head}, "PHOTO_HEADER_MISSING"},
	} {
		stream, err := b.UploadPhoto(svctest.Ctx(t))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := given(stream, c.messages); !fault.Is(err, c.reason) {
			t.Errorf("%s: UploadPhoto = %v, want %s", name, err, c.reason)
		}
	}
	if _, err := b.send(t.Context(), request, header(piece.Name), shot(t, 1), 256<<10); !fault.Is(err, "ACTOR_MISSING") {
		t.Errorf("UploadPhoto without an actor = %v, want ACTOR_MISSING", err)
	}
}

// Who asks again gets the same answer; the same picture under another command is the photo that is there.
func TestServer_UploadPhoto_OnceEach(t *testing.T) {
	b := setup(t)
	piece, other := b.take(t, dresser()), b.take(t, dresser())
	request, file := svctest.NewID(), shot(t, 1)
	send := func(request string, h *intakev1.UploadPhotoRequest_Header, file []byte) (*intakev1.Photo, error) {
		return b.send(svctest.Ctx(t), request, h, file, 256<<10)
	}
	first, err := send(request, header(piece.Name), file)
	if err != nil {
		t.Fatal(err)
	}
	events := len(b.Events(t))
	sum := sha256.Sum256(file)
	summed := header(piece.Name)
	summed.ContentSha256 = hex.EncodeToString(sum[:])
	elsewise := header(piece.Name)
	elsewise.Moment, elsewise.Note = intakev1.Photo_MOMENT_AFTER, "twice"
	for name, again := range map[string]func() (*intakev1.Photo, error){
		"asked again":            func() (*intakev1.Photo, error) { return send(request, header(piece.Name), file) },
		"asked again with a sum": func() (*intakev1.Photo, error) { return send(request, summed, file) },
		"the same picture":       func() (*intakev1.Photo, error) { return send(svctest.NewID(), elsewise, file) },
		"with other camera notes": func() (*intakev1.Photo, error) {
			return send(svctest.NewID(), elsewise, bytes.Replace(file, []byte("12:00:00"), []byte("13:00:00"), 1))
		},
	} {
		got, err := again()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if diff := cmp.Diff(first, got, protocmp.Transform()); diff != "" {
			t.Errorf("%s: another answer:\n%s", name, diff)
		}
	}
	if n := len(b.Events(t)); n != events {
		t.Errorf("%d events more", n-events)
	}
	if _, err := send(request, header(piece.Name), shot(t, 2)); !fault.Is(err, "REQUEST_ID_REUSED") {
		t.Errorf("another file under the same request_id = %v, want REQUEST_ID_REUSED", err)
	}
	if elsewhere, err := send(svctest.NewID(), header(other.Name), file); err != nil || elsewhere.Name == first.Name || elsewhere.Number != 1 || elsewhere.Sha256 != first.Sha256 {
		t.Errorf("the same picture of another piece = %v, %v", elsewhere, err)
	}
	if files := b.files(t); len(files) != 6 { // three sizes of two pictures, one of which was refused as a photo
		t.Errorf("there are %d files: %v", len(files), files)
	}
}

// Many who send photos of one piece at once get different numbers, and the same picture only one.
func TestServer_UploadPhoto_AtOnce(t *testing.T) {
	b := setup(t)
	piece := b.take(t, dresser())
	files := [][]byte{shot(t, 1), shot(t, 100), shot(t, 200)}
	var all sync.WaitGroup
	for i := range 9 {
		all.Go(func() {
			if _, err := b.send(svctest.Ctx(t), svctest.NewID(), header(piece.Name), files[i%3], 256<<10); err != nil {
				t.Errorf("UploadPhoto = %v", err)
			}
		})
	}
	all.Wait()
	r, err := b.ListPhotos(t.Context(), &intakev1.ListPhotosRequest{Piece: piece.Name})
	if err != nil || len(r.Photos) != 3 {
		t.Fatalf("ListPhotos = %d photos, %v, want 3", len(r.GetPhotos()), err)
	}
	for i, photo := range r.Photos {
		if photo.Number != int32(i+1) {
			t.Errorf("the photo in place %d has number %d", i+1, photo.Number)
		}
	}
}
