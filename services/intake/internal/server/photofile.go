package server

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"

	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/album"
	"tackfree/services/intake/internal/picture"
)

// chunk is how many bytes of a picture are sent at once.
const chunk = 256 << 10

// Darkroom is where photos are taken apart and kept. Files that arrive, and pictures that are decoded,
// take memory, so only so many are in work at once.
type Darkroom struct {
	Album    album.Album
	arriving chan struct{}
	cleaning chan struct{}
}

// NewDarkroom makes one over an album: 16 files may arrive at once, and 2 be cleaned.
func NewDarkroom(a album.Album) *Darkroom {
	return &Darkroom{Album: a, arriving: make(chan struct{}, 16), cleaning: make(chan struct{}, 2)}
}

// receive takes a file in. Of a stream that breaks off nothing is kept. Faults: those that the contract
// names for a file.
func (d *Darkroom) receive(in grpc.ClientStreamingServer[intakev1.UploadPhotoRequest, intakev1.UploadPhotoResponse]) (*intakev1.UploadPhotoRequest, []byte, error) {
	if err := d.Album.Kept(); err != nil {
		return nil, nil, err
	}
	select {
	case d.arriving <- struct{}{}:
		defer func() { <-d.arriving }()
	default:
		return nil, nil, fault.New(fault.Exhausted, "TOO_BUSY", "Too many photos are being sent at once; nothing was changed. Try again shortly.")
	}
	first, file, err := wholeFile(in.Recv)
	if err != nil {
		return nil, nil, err
	}
	return first, file, checkSum(first.Header, file)
}

// wholeFile puts a file together and gives the message that it began with.
func wholeFile(next func() (*intakev1.UploadPhotoRequest, error)) (*intakev1.UploadPhotoRequest, []byte, error) {
	first, err := next()
	if errors.Is(err, io.EOF) || err == nil && first.Header == nil {
		return nil, nil, fault.New(fault.Invalid, "PHOTO_HEADER_MISSING", "The first message must say of which piece the photo is.").At("header")
	}
	if err != nil {
		return nil, nil, err
	}
	file := first.Chunk
	for {
		part, err := next()
		if errors.Is(err, io.EOF) {
			return first, file, nil
		}
		if err != nil {
			return nil, nil, err
		}
		if part.Header != nil || part.RequestId != first.RequestId {
			return nil, nil, fault.New(fault.Invalid, "PARTS_DIFFER", "The parts of a photo are of one request, and only the first has a header; send it again.").At("request_id")
		}
		if file = append(file, part.Chunk...); len(file) > picture.MostBytes {
			return nil, nil, picture.TooBig()
		}
	}
}

// checkSum compares a file with what it was said to come to, and notes what it does: a command with
// another file is another command.
func checkSum(h *intakev1.UploadPhotoRequest_Header, file []byte) error {
	sum := sha256.Sum256(file)
	is := hex.EncodeToString(sum[:])
	if h.ContentSha256 != "" && h.ContentSha256 != is {
		return fault.New(fault.Invalid, "PHOTO_DAMAGED", "The photo arrived otherwise than it was sent; send it again.").At("header.content_sha256")
	}
	h.ContentSha256 = is
	return nil
}

// clean makes a picture of a file, when it is its turn.
func (d *Darkroom) clean(ctx context.Context, file []byte) (picture.Picture, error) {
	select {
	case d.cleaning <- struct{}{}:
		defer func() { <-d.cleaning }()
		return picture.Clean(file)
	case <-ctx.Done():
		return picture.Picture{}, ctx.Err()
	}
}
