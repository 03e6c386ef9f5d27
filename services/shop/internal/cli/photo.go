package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"time"

	"github.com/google/uuid"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	"tackfree/pkg/grpcx"
	"tackfree/pkg/id"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
)

type photoCmd struct {
	Add      addPhotoCmd      `cmd:"" help:"Add photos of a piece. Where, when and by what they were taken is taken out of the files that are kept."`
	List     listPhotosCmd    `cmd:"" help:"List the photos of a piece."`
	Save     savePhotoCmd     `cmd:"" help:"Write a photo to a file."`
	Describe describePhotoCmd `cmd:"" help:"Say otherwise what a photo shows."`
	Remove   removePhotoCmd   `cmd:"" help:"Take a photo away; that it was there, and why it went, stays on record."`
}

// shownMoment is what of the work a photo shows, in words.
type shownMoment string

// momentPrefix begins the contract's names of moments.
const momentPrefix = "MOMENT_"

func (m shownMoment) read() (intakev1.Photo_Moment, error) {
	return readEnum[intakev1.Photo_Moment](momentPrefix, string(m), intakev1.Photo_Moment_value)
}

type addPhotoCmd struct {
	timed
	Piece      string      `arg:"" help:"Tag number."`
	Files      []string    `arg:"" name:"file" help:"JPEG, PNG or WebP, at most 25 MB each." type:"existingfile"`
	Moment     shownMoment `help:"What of the work they show: before, during, after, or a defect." required:"" placeholder:"MOMENT"`
	Part       string      `help:"The part that they show; without it, the whole piece." placeholder:"LABEL"`
	Note       string      `help:"What there is to see."`
	Stage      string      `help:"The stage that they belong to." placeholder:"TITLE"`
	Inspection string      `help:"The inspection that they belong to." placeholder:"ID"`
}

// Help implements kong.HelpProvider.
func (addPhotoCmd) Help() string {
	return "Without --at each counts as taken when its camera says, or else now. The same picture twice on a piece is one photo. " +
		"HEIC is refused: in the phone's camera settings choose the most compatible format."
}

func (c *addPhotoCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		h, err := c.header(e.ctx, shop)
		if err != nil {
			return err
		}
		all := &intakev1.ListPhotosResponse{}
		for n, file := range c.Files {
			photo, failed := c.send(e.ctx, shop, n, file, h)
			if failed != nil {
				err = ofFile(failed, file, len(c.Files))
				break
			}
			all.Photos = append(all.Photos, photo)
		}
		if len(all.Photos) == 0 {
			return err
		}
		return errors.Join(c.print(e, all, func() error { return sayAdded(e, all.Photos) }), err)
	})
}

// ofFile says of which of several files something is wrong, in words. Of one that may have been added
// nobody knows what is.
func ofFile(err error, file string, of int) error {
	f := fault.Of(err)
	if of == 1 || f == nil || errors.As(err, new(grpcx.Unsure)) {
		return err
	}
	return fmt.Errorf("%s: %s (%s)", file, f.Text, f.Reason)
}

func (c *addPhotoCmd) header(ctx context.Context, shop *client.Shop) (*intakev1.UploadPhotoRequest_Header, error) {
	p, err := shop.Piece(ctx, c.Piece)
	if err != nil {
		return nil, err
	}
	h := &intakev1.UploadPhotoRequest_Header{Piece: p.Name, Note: c.Note}
	if h.Moment, err = c.Moment.read(); err != nil {
		return nil, err
	}
	if c.Part != "" {
		if h.Part, err = client.Part(p, c.Part); err != nil {
			return nil, err
		}
	}
	if c.Stage != "" {
		stage, err := shop.Stage(ctx, p, c.Stage)
		if err != nil {
			return nil, err
		}
		h.Stage = stage.Name
	}
	if c.Inspection != "" {
		h.Inspection = "inspections/" + bare(c.Inspection)
	}
	h.TakenTime, err = c.at(ctx, shop)
	return h, err
}

// send sends a file, and goes on with one that broke off where it broke. Each has a request id of its own, the same one when the line is given again.
func (c *addPhotoCmd) send(ctx context.Context, shop *client.Shop, n int, file string, h *intakev1.UploadPhotoRequest_Header) (*intakev1.Photo, error) {
	b, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	request, err := c.requestOf(n)
	if err != nil {
		return nil, err
	}
	photo, err := sendFile(ctx, shop, request, h, b, 0)
	for pause := firstPause; errors.As(err, new(grpcx.Unsure)) && pause <= lastPause; pause *= 2 {
		if wait(ctx, pause) != nil {
			break
		}
		kept, gone := shop.Photos.GetPhotoUpload(ctx, &intakev1.GetPhotoUploadRequest{Name: "photoUploads/" + request})
		if gone != nil {
			continue // the shop is still away
		}
		photo, err = sendFile(ctx, shop, request, h, b, kept.KeptBytes)
	}
	return photo, err
}

// The pauses before a file goes on that broke off: each twice the one before, about four seconds in all.
const (
	firstPause = 250 * time.Millisecond
	lastPause  = 2 * time.Second
)

func wait(ctx context.Context, d time.Duration) error {
	select {
	case <-time.After(d):
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// sendFile sends what a file has from a byte on.
func sendFile(ctx context.Context, shop *client.Shop, request string, h *intakev1.UploadPhotoRequest_Header, b []byte, at int64) (*intakev1.Photo, error) {
	stream, err := shop.Photos.UploadPhoto(ctx)
	if err != nil {
		return nil, err
	}
	h = proto.CloneOf(h)
	h.ResumeAt = at
	err = stream.Send(&intakev1.UploadPhotoRequest{RequestId: request, Header: h})
	for chunk := range slices.Chunk(b[at:], partSize) {
		if err == nil {
			err = stream.Send(&intakev1.UploadPhotoRequest{RequestId: request, Chunk: chunk})
		}
	}
	if err != nil && !errors.Is(err, io.EOF) { // what ends so is explained by the answer
		return nil, err
	}
	r, err := stream.CloseAndRecv()
	return r.GetPhoto(), err
}

// requestOf is the request id of a file: the command's own of the first, and made from it of others.
func (c *addPhotoCmd) requestOf(n int) (string, error) {
	if n == 0 {
		return c.request(), nil
	}
	first, err := uuid.Parse(c.request())
	if err != nil {
		return "", fmt.Errorf("--request-id: %q is not a UUID", c.request())
	}
	return id.From(first, uuid.NewSHA1(first, fmt.Append(nil, n))).String(), nil
}

func sayAdded(e *env, photos []*intakev1.Photo) error {
	for _, p := range photos {
		of := fmt.Sprintf("piece %d", p.PieceTag)
		if p.PartLabel != "" {
			of = p.PartLabel + " of " + of
		}
		if _, err := fmt.Fprintf(e.out, "Photo %d, %s of %s, %d × %d.\n", p.Number, momentWord(p.Moment), of, p.Width, p.Height); err != nil {
			return err
		}
	}
	return nil
}

func momentWord(m intakev1.Photo_Moment) string { return enumWord(momentPrefix, m.String()) }
