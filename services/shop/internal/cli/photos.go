package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type listPhotosCmd struct {
	listOutput
	Piece   string      `arg:"" help:"Tag number."`
	Moment  shownMoment `help:"Only those of before, during, after, or a defect." placeholder:"MOMENT"`
	Removed bool        `help:"Also those that were removed."`
}

func (c *listPhotosCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		p, err := shop.Piece(e.ctx, c.Piece)
		if err != nil {
			return err
		}
		r := &intakev1.ListPhotosRequest{Piece: p.Name, ShowRemoved: c.Removed}
		if c.Moment != "" {
			if r.Moment, err = c.Moment.read(); err != nil {
				return err
			}
		}
		photos, err := shop.AllPhotos(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, &intakev1.ListPhotosResponse{Photos: photos}, func() error { return printPhotos(e, shop, photos) })
	})
}

func printPhotos(e *env, shop *client.Shop, photos []*intakev1.Photo) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	t := &report.Table{Headings: []string{" no.", "shows", "part", "taken", "added by", "note"}}
	for _, p := range photos {
		note := p.Note
		if r := p.Removal; r != nil {
			note = fmt.Sprintf("removed by %s: %s", r.RemovedBy, r.Reason)
		}
		t.Add(fmt.Sprint(p.Number), momentWord(p.Moment), orDash(p.PartLabel), terms.Clock(p.TakenTime), p.AddedBy, note)
	}
	return t.Print(e.out)
}

type savePhotoCmd struct {
	output
	Piece  string `arg:"" help:"Tag number."`
	Number int32  `arg:"" help:"The photo's number, as photo list shows it."`
	File   string `arg:"" help:"The file to write; one that is there is written over." type:"path"`
	Size   string `help:"full, medium (at most 1280 pixels) or thumbnail (at most 320)." enum:"full,medium,thumbnail" default:"full"`
}

func (c *savePhotoCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		photo, err := shop.Photo(e.ctx, c.Piece, c.Number)
		if err != nil {
			return err
		}
		size, err := readEnum[intakev1.Photo_Size]("SIZE_", c.Size, intakev1.Photo_Size_value)
		if err != nil {
			return err
		}
		if err := writeWhole(c.File, func(f io.Writer) error { return download(e.ctx, shop, photo.Name, size, f) }); err != nil {
			return err
		}
		return c.print(e, photo, func() error {
			_, err := fmt.Fprintf(e.out, "Photo %d of piece %d is in %s.\n", photo.Number, photo.PieceTag, c.File)
			return err
		})
	})
}

// writeWhole puts a file in place when all of it is there: what breaks off leaves what was there before.
func writeWhole(file string, write func(io.Writer) error) error {
	f, err := os.CreateTemp(filepath.Dir(file), "."+filepath.Base(file)+"-*")
	if err != nil {
		return err
	}
	err = errors.Join(write(f), f.Chmod(0o644), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), file)
	}
	if err != nil {
		_ = os.Remove(f.Name())
	}
	return err
}

func download(ctx context.Context, shop *client.Shop, photo string, size intakev1.Photo_Size, to io.Writer) error {
	stream, err := shop.Photos.DownloadPhoto(ctx, &intakev1.DownloadPhotoRequest{Name: photo, Size: size})
	if err != nil {
		return err
	}
	for {
		part, err := stream.Recv()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if _, err := to.Write(part.GetChunk()); err != nil {
			return err
		}
	}
}

type describePhotoCmd struct {
	command
	Piece  string      `arg:"" help:"Tag number."`
	Number int32       `arg:"" help:"The photo's number, as photo list shows it."`
	Moment shownMoment `help:"What of the work it shows: before, during, after, or a defect; without it, as before." placeholder:"MOMENT"`
	Note   *string     `help:"What there is to see; empty for nothing; without it, as before."`
}

func (c *describePhotoCmd) Run(e *env) error {
	if c.Moment == "" && c.Note == nil {
		return errors.New("say what it shows: --moment or --note or both")
	}
	return e.with(func(shop *client.Shop) error {
		photo, err := shop.Photo(e.ctx, c.Piece, c.Number)
		if err != nil {
			return err
		}
		r := &intakev1.DescribePhotoRequest{RequestId: c.request(), Photo: photo.Name, Moment: photo.Moment, Note: photo.Note}
		if c.Moment != "" {
			if r.Moment, err = c.Moment.read(); err != nil {
				return err
			}
		}
		if c.Note != nil {
			r.Note = *c.Note
		}
		resp, err := shop.Photos.DescribePhoto(e.ctx, r)
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return printPhotos(e, shop, []*intakev1.Photo{resp.Photo}) })
	})
}

type removePhotoCmd struct {
	command
	Piece  string `arg:"" help:"Tag number."`
	Number int32  `arg:"" help:"The photo's number, as photo list shows it."`
	Reason string `help:"Why it is taken away." required:""`
}

func (c *removePhotoCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		photo, err := shop.Photo(e.ctx, c.Piece, c.Number)
		if err != nil {
			return err
		}
		resp, err := shop.Photos.RemovePhoto(e.ctx, &intakev1.RemovePhotoRequest{RequestId: c.request(), Photo: photo.Name, Reason: c.Reason})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error {
			_, err := fmt.Fprintf(e.out, "Photo %d of piece %d is removed; its file goes after a day, unless another piece shows the same picture.\n", resp.Photo.Number, resp.Photo.PieceTag)
			return err
		})
	})
}
