package server

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"

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

// receive takes a file in. What came of a stream that breaks off is kept, so that another one can go on
// behind it. Faults: those that the contract names for a file.
func (d *Darkroom) receive(in grpc.ClientStreamingServer[intakev1.UploadPhotoRequest, intakev1.UploadPhotoResponse]) (*arrival, error) {
	if err := d.Album.Kept(); err != nil {
		return nil, err
	}
	select {
	case d.arriving <- struct{}{}:
		defer func() { <-d.arriving }()
	default:
		return nil, fault.New(fault.Exhausted, "TOO_BUSY", "Too many photos are being sent at once; nothing was changed. Try again shortly.")
	}
	a, err := d.begin(in)
	if err != nil {
		return nil, err
	}
	switch broke, err := a.readOn(in.Recv); {
	case broke:
		ctx, done := context.WithTimeout(context.WithoutCancel(in.Context()), keeping)
		defer done()
		return nil, errors.Join(err, d.keep(ctx, a))
	case err != nil:
		return nil, err
	case a.first.Header.MoreFollows:
		return a, d.keep(in.Context(), a)
	}
	return a, checkSum(a.first.Header, a.file)
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
