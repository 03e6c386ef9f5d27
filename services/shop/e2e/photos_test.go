package e2e_test

import (
	"bytes"
	"image"
	"image/jpeg"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/suite"
)

// A piece is photographed; the photos are there after the shop was closed and opened again, and the
// books pass over what was told of them.
func TestPhotos_SurviveARestart(t *testing.T) {
	var o suite.Options
	s := open(t, func(given *suite.Options) { o = *given })
	dir := s.Dir()
	say := func(want string, args ...string) {
		t.Helper()
		if out := shop(t, dir, args...); !strings.Contains(out, want) {
			t.Errorf("shop %s prints:\n%s\nwhich does not say %q", strings.Join(args, " "), out, want)
		}
	}
	front, burn, first, again := picture(t, "front.jpg", 1), picture(t, "burn.png", 2), filepath.Join(t.TempDir(), "first.jpg"), filepath.Join(t.TempDir(), "again.jpg")
	say("Piece 1 is taken in", "piece", "take-in", "Pine dresser", "--kind", "dresser", "--price", "40", "--source", "kerb", "--part", "case", "--part", "drawers:4")
	say("Photo 1, before of piece 1, 800 × 600", "photo", "add", "1", front, "--moment", "before")
	say("Photo 2, defect of case of piece 1", "photo", "add", "1", burn, "--moment", "defect", "--part", "case", "--note", "burn beside the lock")
	say("Photo 1, before", "photo", "add", "1", front, "--moment", "after")
	say("burn beside the lock", "photo", "list", "1")
	say("is in", "photo", "save", "1", "1", first)
	say("Photo 2 of piece 1 is removed", "photo", "remove", "1", "2", "--reason", "blurred")
	s.Stop()
	t.Cleanup(start(t, o).Stop)
	say("is in", "photo", "save", "1", "1", again)
	before, err := os.ReadFile(first)
	after, againErr := os.ReadFile(again)
	if err != nil || againErr != nil || !bytes.Equal(before, after) {
		t.Errorf("after the restart the photo has %d bytes and before it had %d (%v, %v)", len(after), len(before), err, againErr)
	}
	if img, err := jpeg.Decode(bytes.NewReader(after)); err != nil || img.Bounds().Dx() != 800 {
		t.Errorf("what was saved is no picture: %v", err)
	}
	say("removed by", "photo", "list", "1", "--removed")
	say("Photo 3, defect of case", "photo", "add", "1", burn, "--moment", "defect", "--part", "case")
	eventually(t, "the books to have it", func() bool { return strings.Contains(shop(t, dir, "cost", "show", "1"), "40.00") })
	say("0 could not be booked", "cost", "progress")
	say("0 differences", "cost", "verify")
}

// start starts a shop as one was.
func start(t *testing.T, o suite.Options) *suite.Suite {
	t.Helper()
	s, err := suite.Start(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// picture writes a picture as its name says; another shade is another one.
func picture(t *testing.T, name string, shade byte) string {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, 800, 600))
	for i := range img.Pix {
		img.Pix[i] = byte(i) * shade
	}
	var b bytes.Buffer
	encode := func() error { return png.Encode(&b, img) }
	if filepath.Ext(name) == ".jpg" {
		encode = func() error { return jpeg.Encode(&b, img, nil) }
	}
	if err := encode(); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(file, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

// photographs adds a photo of a piece, says otherwise what it shows, and takes it away again.
func photographs(t *testing.T, shop *client.Shop) {
	t.Helper()
	ctx := caller.With(t.Context(), caller.Caller{Actor: "Lead"})
	ok := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	p, err := shop.Piece(ctx, "101")
	ok(err)
	file, err := os.ReadFile(picture(t, "front.jpg", 1))
	ok(err)
	stream, err := shop.Photos.UploadPhoto(ctx)
	ok(err)
	ok(stream.Send(&intakev1.UploadPhotoRequest{RequestId: id.New().String(), Chunk: file, Header: &intakev1.UploadPhotoRequest_Header{Piece: p.Name, Part: p.Parts[0].Name,
		Moment: intakev1.Photo_MOMENT_DURING, Note: "first coat", Stage: p.Name + "/stages/" + id.New().String(), Inspection: "inspections/" + id.New().String()}}))
	added, err := stream.CloseAndRecv()
	ok(err)
	_, err = shop.Photos.DescribePhoto(ctx, &intakev1.DescribePhotoRequest{RequestId: id.New().String(), Photo: added.Photo.Name, Moment: intakev1.Photo_MOMENT_DEFECT, Note: "a run in the first coat"})
	ok(err)
	_, err = shop.Photos.RemovePhoto(ctx, &intakev1.RemovePhotoRequest{RequestId: id.New().String(), Photo: added.Photo.Name, Reason: "blurred"})
	ok(err)
}
