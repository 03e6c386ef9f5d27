package photos

import (
	"cmp"
	"context"
	"errors"
	"io"
	"mime/multipart"
	"net/http"
	"strconv"
	"strings"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/web"
)

// Moments are what a photo can show of the work, as forms send them.
var Moments = []string{"before", "during", "after", "defect"}

var moments = map[string]intakev1.Photo_Moment{
	"before": intakev1.Photo_MOMENT_BEFORE, "during": intakev1.Photo_MOMENT_DURING,
	"after": intakev1.Photo_MOMENT_AFTER, "defect": intakev1.Photo_MOMENT_DEFECT,
}

var (
	errNoMoment = fault.New(fault.Invalid, "PHOTO_MOMENT_MISSING", "Say what the photo shows: before, during, after or a defect. Nothing was added.").At("moment")
	errNoFile   = fault.New(fault.Invalid, "PHOTO_NOT_CHOSEN", "No photo was chosen. Choose one and send it again.").At("photo")
	errTooBig   = fault.New(fault.Invalid, "PHOTO_TOO_BIG", "That is more than a photo may have, 25 MB. Nothing was added; take it smaller.").At("photo")
	errBroken   = fault.New(fault.Invalid, "FORM_UNREADABLE", "The photo did not arrive as a whole. Nothing was added; send it again.")
	errLongWord = fault.New(fault.Exhausted, "FORM_TOO_LONG", "A field beside the photo is longer than any page would send. Nothing was added.")
)

func momentOf(word string) (intakev1.Photo_Moment, error) {
	m, known := moments[word]
	if !known {
		return m, errNoMoment
	}
	return m, nil
}

// add takes a photo of a piece. The form's fields come before its file.
func add(w http.ResponseWriter, a *web.Asked) error {
	piece, err := a.Kit.Suite.Intake.GetPiece(a.Context(), &intakev1.GetPieceRequest{Name: "pieces/tag:" + a.PathValue("tag")})
	if err != nil {
		return err
	}
	parts, err := a.Parts()
	if err != nil {
		return err
	}
	fields := map[string]string{"then": "/pieces/" + a.PathValue("tag")}
	file, err := fieldsOf(parts, fields)
	if err != nil {
		return err
	}
	fields["piece"] = piece.Piece.Name
	switch err := send(a, fields, file); {
	case err != nil:
		if f := fault.Of(err); f != nil {
			w.Header().Set(reasonHeader, f.Reason)
		}
		return err
	case fields["more_follows"] != "":
		w.WriteHeader(http.StatusNoContent)
		return nil
	case fields["by_script"] != "":
		return a.Later(w, a.Back(fields["then"]), "piece.photo.added")
	}
	return a.After(w, a.Back(fields["then"]), "piece.photo.added")
}

// reasonHeader tells a script, which is shown a page, why.
const reasonHeader = "X-Tackfree-Reason"

// uploaded tells a script how much of a file is kept.
func uploaded(w http.ResponseWriter, a *web.Asked) error {
	r, err := a.Kit.Suite.Photos.GetPhotoUpload(a.Context(), &intakev1.GetPhotoUploadRequest{Name: "photoUploads/" + a.PathValue("request")})
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	_, err = io.WriteString(w, strconv.FormatInt(r.KeptBytes, 10))
	return err
}

// fieldsOf reads the form's fields up to its file.
func fieldsOf(parts *multipart.Reader, into map[string]string) (*multipart.Part, error) {
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			return nil, errNoFile
		}
		if err != nil {
			return nil, unread(err)
		}
		if part.FileName() != "" {
			return part, nil
		}
		b, err := io.ReadAll(io.LimitReader(part, longestField+1))
		if err != nil {
			return nil, unread(err)
		}
		if len(b) > longestField {
			return nil, errLongWord
		}
		into[part.FormName()] = string(b)
	}
}

// longestField is more than any field of the form holds.
const longestField = 8 << 10

// mostAtOnce is how much of a file goes in one message.
const mostAtOnce = 128 << 10

// send brings the file to intake as it arrives.
func send(a *web.Asked, fields map[string]string, file io.Reader) error {
	header, err := headerOf(fields)
	if err != nil {
		return err
	}
	request := fields["request_id"]
	if request == "" {
		request = id.New().String()
	}
	ctx, stop := context.WithCancel(a.Context())
	defer stop() // what came of a file that breaks off intake keeps for a while
	stream, err := a.Kit.Suite.Photos.UploadPhoto(ctx)
	if err != nil {
		return err
	}
	for more := true; more; header = nil {
		chunk := make([]byte, mostAtOnce)
		n, err := io.ReadFull(file, chunk)
		if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
			return unread(err)
		}
		sent := stream.Send(&intakev1.UploadPhotoRequest{RequestId: request, Header: header, Chunk: chunk[:n]})
		more = err == nil && sent == nil // what was refused the answer tells
	}
	_, err = stream.CloseAndRecv()
	return err
}

func headerOf(fields map[string]string) (*intakev1.UploadPhotoRequest_Header, error) {
	moment, err := momentOf(fields["moment"])
	if err != nil {
		return nil, err
	}
	at, err := strconv.ParseInt(cmp.Or(fields["resume_at"], "0"), 10, 64)
	if err != nil {
		return nil, errBroken
	}
	return &intakev1.UploadPhotoRequest_Header{Piece: fields["piece"], Part: fields["part"], Moment: moment,
		Note: strings.TrimSpace(fields["note"]), Stage: fields["stage"], ResumeAt: at, MoreFollows: fields["more_follows"] != ""}, nil
}

func unread(err error) error {
	if errors.As(err, new(*http.MaxBytesError)) {
		return errTooBig
	}
	return errBroken
}
