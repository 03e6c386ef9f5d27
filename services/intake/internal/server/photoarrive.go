package server

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"strconv"
	"strings"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/picture"
)

// keeping is how long it may take to keep what came of a stream that is over.
const keeping = 10 * time.Second

// arrival is a file on its way in.
type arrival struct {
	first  *intakev1.UploadPhotoRequest
	upload string // under which its parts are kept
	before int    // how much of it came with streams before this one
	file   []byte
}

// uploadOf names what one caller sends under a request id: nobody goes on with another's photo.
func uploadOf(ctx context.Context, request string) string {
	sum := sha256.Sum256([]byte(caller.Of(ctx).Actor + "\x00" + strings.ToLower(request)))
	return hex.EncodeToString(sum[:])
}

// begin reads a stream's first message, and what was kept of the file before. Faults:
// PHOTO_HEADER_MISSING, PHOTO_GOES_ON_ELSEWHERE.
func (d *Darkroom) begin(in grpc.ClientStreamingServer[intakev1.UploadPhotoRequest, intakev1.UploadPhotoResponse]) (*arrival, error) {
	first, err := in.Recv()
	if errors.Is(err, io.EOF) || err == nil && first.Header == nil {
		return nil, fault.New(fault.Invalid, "PHOTO_HEADER_MISSING", "The first message must say of which piece the photo is.").At("header")
	}
	if err != nil {
		return nil, err
	}
	a := &arrival{first: first, upload: uploadOf(in.Context(), first.RequestId)}
	if first.Header.ResumeAt > 0 {
		if a.file, err = d.Album.KeptFile(in.Context(), a.upload); err != nil {
			return nil, err
		}
		if kept := int64(len(a.file)); kept != first.Header.ResumeAt {
			return nil, fault.New(fault.Precondition, "PHOTO_GOES_ON_ELSEWHERE", "Of this photo %d bytes are kept, not %d; go on behind them.", kept, first.Header.ResumeAt).
				At("header.resume_at").With("kept_bytes", strconv.FormatInt(kept, 10))
		}
	}
	a.before, a.file = len(a.file), append(a.file, first.Chunk...)
	return a, a.checkLength()
}

// readOn puts the rest behind it, and tells whether the stream broke off.
func (a *arrival) readOn(next func() (*intakev1.UploadPhotoRequest, error)) (broke bool, err error) {
	for {
		part, err := next()
		if errors.Is(err, io.EOF) {
			return false, nil
		}
		if err != nil {
			return true, err
		}
		if part.Header != nil || part.RequestId != a.first.RequestId {
			return false, fault.New(fault.Invalid, "PARTS_DIFFER", "The parts of a photo are of one request, and only the first has a header; send it again.").At("request_id")
		}
		a.file = append(a.file, part.Chunk...)
		if err := a.checkLength(); err != nil {
			return false, err
		}
	}
}

func (a *arrival) checkLength() error {
	if len(a.file) > picture.MostBytes {
		return picture.TooBig()
	}
	return nil
}

// keep keeps what this stream brought.
func (d *Darkroom) keep(ctx context.Context, a *arrival) error {
	if len(a.file) == a.before {
		return nil
	}
	return d.Album.KeepPart(ctx, a.upload, a.before, a.file[a.before:])
}

// GetPhotoUpload implements PhotoService.
func (s *Server) GetPhotoUpload(ctx context.Context, r *intakev1.GetPhotoUploadRequest) (*intakev1.GetPhotoUploadResponse, error) {
	request, err := id.One("name", r.Name, "photoUploads")
	if err != nil {
		return nil, err
	}
	kept, err := s.Darkroom.Album.KeptBytes(ctx, uploadOf(ctx, request.String()))
	if err != nil {
		return nil, err
	}
	return &intakev1.GetPhotoUploadResponse{KeptBytes: int64(kept)}, nil
}
