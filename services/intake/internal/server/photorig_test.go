package server_test

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"io"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"google.golang.org/grpc"

	"tackfree/pkg/svctest"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// shot is a photo as a camera wrote it, of the eighth of March 2026 at noon by its clock; another shade
// is another photo.
func shot(t testing.TB, shade uint8) []byte {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, 1400, 700))
	for i := range img.Pix {
		img.Pix[i] = byte(uint32(i) * 2654435761 >> 21)
	}
	img.SetRGBA(0, 0, color.RGBA{shade, 0, 0, 255})
	for i := range 400 * 400 {
		img.SetRGBA(i%400, i/400, color.RGBA{shade, shade, shade, 255})
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, nil); err != nil {
		t.Fatal(err)
	}
	notes := "\xff\xe1\x00\x56Exif\x00\x00MM\x00*\x00\x00\x00\x08" +
		"\x00\x01\x87\x69\x00\x04\x00\x00\x00\x01\x00\x00\x00\x1a\x00\x00\x00\x00" +
		"\x00\x01\x90\x03\x00\x02\x00\x00\x00\x14\x00\x00\x00\x2c\x00\x00\x00\x00" + "2026:03:08 12:00:00\x00PLANTED-HERE\x00\x00"
	return append(append([]byte("\xff\xd8"), notes...), b.Bytes()[2:]...)
}

func header(piece string) *intakev1.UploadPhotoRequest_Header {
	return &intakev1.UploadPhotoRequest_Header{Piece: piece, Moment: intakev1.Photo_MOMENT_BEFORE, Note: "as found"}
}

// send sends a file in parts of a length, and answers as the service does.
func (b *bundle) send(ctx context.Context, request string, h *intakev1.UploadPhotoRequest_Header, file []byte, part int) (*intakev1.Photo, error) {
	stream, err := b.UploadPhoto(ctx)
	if err != nil {
		return nil, err
	}
	messages := []*intakev1.UploadPhotoRequest{{RequestId: request, Header: h}}
	for chunk := range slices.Chunk(file, part) {
		messages = append(messages, &intakev1.UploadPhotoRequest{RequestId: request, Chunk: chunk})
	}
	return given(stream, messages)
}

func given(stream grpc.ClientStreamingClient[intakev1.UploadPhotoRequest, intakev1.UploadPhotoResponse], messages []*intakev1.UploadPhotoRequest) (*intakev1.Photo, error) {
	for _, m := range messages {
		if err := stream.Send(m); errors.Is(err, io.EOF) {
			break // the answer says why
		} else if err != nil {
			return nil, err
		}
	}
	r, err := stream.CloseAndRecv()
	return r.GetPhoto(), err
}

func (b *bundle) add(t testing.TB, h *intakev1.UploadPhotoRequest_Header, file []byte) *intakev1.Photo {
	t.Helper()
	photo, err := b.send(svctest.Ctx(t), svctest.NewID(), h, file, 256<<10)
	if err != nil {
		t.Fatal(err)
	}
	return photo
}

// uploading makes a call that svctest.Refused can make: with that file, in parts of that length.
func (b *bundle) uploading(file []byte, part int) func(context.Context, *intakev1.UploadPhotoRequest, ...grpc.CallOption) (*intakev1.Photo, error) {
	return func(ctx context.Context, r *intakev1.UploadPhotoRequest, _ ...grpc.CallOption) (*intakev1.Photo, error) {
		return b.send(ctx, r.RequestId, r.Header, file, part)
	}
}

// download gives a picture, and what was said of it before it came.
func (b *bundle) download(t testing.TB, photo string, size intakev1.Photo_Size) ([]byte, *intakev1.DownloadPhotoResponse_Header, error) {
	t.Helper()
	stream, err := b.DownloadPhoto(t.Context(), &intakev1.DownloadPhotoRequest{Name: photo, Size: size})
	if err != nil {
		return nil, nil, err
	}
	first, err := stream.Recv()
	if err != nil {
		return nil, nil, err
	}
	var file []byte
	for {
		part, err := stream.Recv()
		if errors.Is(err, io.EOF) {
			return file, first.GetHeader(), nil
		}
		if err != nil {
			return nil, nil, err
		}
		if len(part.GetChunk()) > 256<<10 {
			t.Errorf("a part of %d bytes", len(part.GetChunk()))
		}
		file = append(file, part.GetChunk()...)
	}
}

// downloading makes a call that svctest.Refused can make.
func (b *bundle) downloading(t testing.TB) func(context.Context, *intakev1.DownloadPhotoRequest, ...grpc.CallOption) (*intakev1.DownloadPhotoResponse, error) {
	return func(_ context.Context, r *intakev1.DownloadPhotoRequest, _ ...grpc.CallOption) (*intakev1.DownloadPhotoResponse, error) {
		_, _, err := b.download(t, r.Name, r.Size)
		return nil, err
	}
}

// files are those in the folder of photos, by their paths in it.
func (b *bundle) files(t testing.TB) (all []string) {
	t.Helper()
	err := filepath.WalkDir(b.photos, func(path string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			all = append(all, path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}
