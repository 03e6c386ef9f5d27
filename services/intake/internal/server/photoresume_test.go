package server_test

import (
	"context"
	"testing"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// breakOff sends the next bytes of a file, from where it goes on, lets go, and gives how much of the file is kept then: what
// is on its way when a stream is cut is lost with it, so that this is some of it.
func (b *bundle) breakOff(t *testing.T, request, piece string, file []byte, at int) int {
	t.Helper()
	for range 20 {
		b.cut(t, request, piece, file, at)
		for range 50 {
			if n := b.kept(svctest.Ctx(t), t, request); n > at {
				return n
			}
			time.Sleep(20 * time.Millisecond)
		}
	}
	t.Fatal("nothing is kept of a stream that broke off")
	return 0
}

func (b *bundle) cut(t *testing.T, request, piece string, file []byte, at int) {
	t.Helper()
	ctx, cancel := context.WithCancel(svctest.Ctx(t))
	defer cancel()
	stream, err := b.UploadPhoto(ctx)
	if err != nil {
		t.Fatal(err)
	}
	h := header(piece)
	h.ResumeAt = int64(at)
	for next := at; next < at+100_000; next += 10_000 {
		if err := stream.Send(&intakev1.UploadPhotoRequest{RequestId: request, Header: h, Chunk: file[next : next+10_000]}); err != nil {
			t.Fatal(err)
		}
		h = nil
	}
	time.Sleep(100 * time.Millisecond)
	cancel()
	if err := stream.RecvMsg(new(intakev1.UploadPhotoResponse)); err == nil { // CloseAndRecv may end it properly at the last moment
		t.Fatal("a stream that broke off was answered")
	}
}

// kept is how much of a file is kept.
func (b *bundle) kept(ctx context.Context, t *testing.T, request string) int {
	t.Helper()
	r, err := b.GetPhotoUpload(ctx, &intakev1.GetPhotoUploadRequest{Name: "photoUploads/" + request})
	if err != nil {
		t.Fatal(err)
	}
	return int(r.KeptBytes)
}

// A photo whose stream breaks off is no photo; another stream goes on where it broke, and twice if need be.
func TestServer_UploadPhoto_GoesOnWhereItBroke(t *testing.T) {
	b := setup(t)
	piece := b.take(t, dresser())
	file, request, h := shot(t, 1), svctest.NewID(), header(piece.Name)
	some := b.breakOff(t, request, piece.Name, file, 0)
	if r, err := b.ListPhotos(t.Context(), &intakev1.ListPhotosRequest{Piece: piece.Name}); err != nil || len(r.Photos) > 0 {
		t.Fatalf("ListPhotos = %v, %v, want none", r, err)
	}
	more := b.breakOff(t, request, piece.Name, file, some)
	on := header(piece.Name)
	on.ResumeAt = int64(some)
	svctest.Refused(t, b.Service, b.uploading(file[some:], 256<<10), &intakev1.UploadPhotoRequest{RequestId: request, Header: on}, fault.Precondition, "PHOTO_GOES_ON_ELSEWHERE")
	last := header(piece.Name)
	last.ResumeAt = int64(more)
	photo, err := b.send(svctest.Ctx(t), request, last, file[more:], 256<<10)
	if err != nil {
		t.Fatal(err)
	}
	if whole := b.add(t, h, file); whole.Name != photo.Name { // the same picture twice is one photo
		t.Errorf("what came in three is another picture: %v, not %v", photo, whole)
	}
	if got := b.kept(svctest.Ctx(t), t, request); got != 0 {
		t.Errorf("%d bytes are kept of what is whole", got)
	}
	// The answer was lost, and it is sent again from its beginning: the same photo.
	if again, err := b.send(svctest.Ctx(t), request, h, file, 256<<10); err != nil || again.Name != photo.Name {
		t.Errorf("sent again = %v, %v, want %s", again, err, photo.Name)
	}
}

// A file may come in streams of its own choice; what is refused of the whole is refused at the last.
func TestServer_UploadPhoto_InSlices(t *testing.T) {
	b := setup(t)
	piece := b.take(t, dresser())
	slices := func(request string, file []byte) error {
		for at := 0; at < len(file); at += 150_000 {
			h := header(piece.Name)
			h.ResumeAt, h.MoreFollows = int64(at), at+150_000 < len(file)
			if _, err := b.send(svctest.Ctx(t), request, h, file[at:min(at+150_000, len(file))], 64<<10); err != nil {
				return err
			}
			if got := b.kept(svctest.Ctx(t), t, request); h.MoreFollows && got != at+150_000 {
				t.Fatalf("%d bytes are kept, want %d", got, at+150_000)
			}
		}
		return nil
	}
	if err := slices(svctest.NewID(), shot(t, 2)); err != nil {
		t.Errorf("a photo in slices: %v", err)
	}
	if err := slices(svctest.NewID(), append([]byte("%PDF-1.7 named.jpg"), shot(t, 3)...)); !fault.Is(err, "PHOTO_FORMAT") {
		t.Errorf("a document in slices: %v, want PHOTO_FORMAT", err)
	}
	if err := slices(svctest.NewID(), make([]byte, 26<<20)); !fault.Is(err, "PHOTO_TOO_BIG") {
		t.Errorf("too much in slices: %v, want PHOTO_TOO_BIG", err)
	}
	if r, err := b.ListPhotos(t.Context(), &intakev1.ListPhotosRequest{Piece: piece.Name}); err != nil || len(r.Photos) != 1 {
		t.Errorf("ListPhotos = %v, %v, want one", r, err)
	}
}

// Nobody goes on with what another sent.
func TestServer_UploadPhoto_AnothersParts(t *testing.T) {
	b := setup(t)
	piece := b.take(t, dresser())
	request := svctest.NewID()
	b.breakOff(t, request, piece.Name, shot(t, 1), 0)
	another := caller.With(t.Context(), caller.Caller{Actor: "Odile"})
	if r, err := b.GetPhotoUpload(another, &intakev1.GetPhotoUploadRequest{Name: "photoUploads/" + request}); err != nil || r.KeptBytes != 0 {
		t.Errorf("another is told of %v, %v", r, err)
	}
}
