package server_test

import (
	"context"
	"errors"
	"io"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/boot"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	"tackfree/pkg/svctest"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/intakesvc"
	"tackfree/services/intake/internal/album"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/picture"
	"tackfree/services/intake/internal/server"
	"tackfree/services/intake/internal/store"
)

func TestServer_ListPhotos(t *testing.T) {
	b := setup(t)
	piece := b.take(t, dresser())
	var added []*intakev1.Photo
	for i := range 3 {
		h := header(piece.Name)
		if i == 1 {
			h.Moment = intakev1.Photo_MOMENT_DEFECT
		}
		added = append(added, b.add(t, h, shot(t, uint8(100*i))))
	}
	first, err := b.ListPhotos(t.Context(), &intakev1.ListPhotosRequest{Piece: piece.Name, PageSize: 2})
	if err != nil {
		t.Fatal(err)
	}
	rest, err := b.ListPhotos(t.Context(), &intakev1.ListPhotosRequest{Piece: piece.Name, PageSize: 2, PageToken: first.NextPageToken})
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(added, slices.Concat(first.Photos, rest.Photos), protocmp.Transform()); diff != "" || rest.NextPageToken != "" {
		t.Errorf("ListPhotos by pages (-added +listed):\n%s", diff)
	}
	defects, err := b.ListPhotos(t.Context(), &intakev1.ListPhotosRequest{Piece: piece.Name, Moment: intakev1.Photo_MOMENT_DEFECT})
	if err != nil || len(defects.Photos) != 1 || defects.Photos[0].Name != added[1].Name {
		t.Errorf("ListPhotos of defects = %v, %v", defects, err)
	}
	svctest.Refused(t, b.Service, b.ListPhotos, &intakev1.ListPhotosRequest{Piece: id.Name("pieces", id.New())}, fault.NotFound, "PIECE_NOT_FOUND")
	svctest.Refused(t, b.Service, b.ListPhotos, &intakev1.ListPhotosRequest{Piece: piece.Name, PageToken: "zz"}, fault.Invalid, "INVALID_PAGE_TOKEN")
}

func TestServer_DescribePhoto(t *testing.T) {
	b := setup(t)
	photo := b.add(t, header(b.take(t, dresser()).Name), shot(t, 1))
	r := &intakev1.DescribePhotoRequest{RequestId: svctest.NewID(), Photo: photo.Name, Moment: intakev1.Photo_MOMENT_DEFECT, Note: "burn beside the lock", Etag: photo.Etag}
	resp, err := b.DescribePhoto(svctest.Ctx(t), r)
	if err != nil || resp.Photo.Moment != r.Moment || resp.Photo.Note != r.Note || resp.Photo.Etag != `"2"` {
		t.Fatalf("DescribePhoto = %v, %v", resp, err)
	}
	want := &eventsv1.PhotoDescribed{PhotoId: photo.Name[len("photos/"):], OldDescription: &eventsv1.PhotoDescription{Moment: "before", Note: "as found"},
		NewDescription: &eventsv1.PhotoDescription{Moment: "defect", Note: "burn beside the lock"}}
	e := b.Last(t)
	if diff := cmp.Diff(want, e.GetPhotoDescribed(), protocmp.Transform()); diff != "" || e.Version != 2 {
		t.Errorf("event of version %d (-want +got):\n%s", e.Version, diff)
	}
	events := len(b.Events(t))
	same := &intakev1.DescribePhotoRequest{RequestId: svctest.NewID(), Photo: photo.Name, Moment: r.Moment, Note: r.Note}
	for _, again := range []*intakev1.DescribePhotoRequest{r, same} {
		got, err := b.DescribePhoto(svctest.Ctx(t), again)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(resp, got, protocmp.Transform()); diff != "" {
			t.Errorf("described so again it differs:\n%s", diff)
		}
	}
	if n := len(b.Events(t)); n != events {
		t.Errorf("what changed nothing told %d events", n-events)
	}
	svctest.Refused(t, b.Service, b.DescribePhoto, &intakev1.DescribePhotoRequest{RequestId: svctest.NewID(), Photo: photo.Name, Moment: 1, Etag: photo.Etag}, fault.Conflict, "ETAG_MISMATCH")
	svctest.Refused(t, b.Service, b.DescribePhoto, &intakev1.DescribePhotoRequest{RequestId: svctest.NewID(), Photo: id.Name("photos", id.New()), Moment: 1}, fault.NotFound, "PHOTO_NOT_FOUND")
	svctest.Refused(t, b.Service, b.DescribePhoto, &intakev1.DescribePhotoRequest{RequestId: svctest.NewID(), Photo: photo.Name}, fault.Invalid, "INVALID_FIELD")
}

func TestServer_RemovePhoto(t *testing.T) {
	b := setup(t)
	piece := b.take(t, dresser())
	photo := b.add(t, header(piece.Name), shot(t, 1))
	r := &intakev1.RemovePhotoRequest{RequestId: svctest.NewID(), Photo: photo.Name, Reason: "shows the neighbour"}
	resp, err := b.RemovePhoto(svctest.Ctx(t), r)
	if err != nil || resp.Photo.Removal.GetReason() != r.Reason || resp.Photo.Removal.RemovedBy != svctest.Actor || resp.Photo.Removal.RemoveTime == nil {
		t.Fatalf("RemovePhoto = %v, %v", resp, err)
	}
	if e := b.Last(t); e.Version != 2 || e.GetPhotoRemoved().GetReason() != r.Reason || "photos/"+e.GetPhotoRemoved().PhotoId != photo.Name {
		t.Errorf("event = %v", e)
	}
	if again, err := b.RemovePhoto(svctest.Ctx(t), r); err != nil || !cmp.Equal(resp, again, protocmp.Transform()) {
		t.Errorf("asked again = %v, %v", again, err)
	}
	other := func() *intakev1.RemovePhotoRequest {
		return &intakev1.RemovePhotoRequest{RequestId: svctest.NewID(), Photo: photo.Name, Reason: "twice"}
	}
	svctest.Refused(t, b.Service, b.RemovePhoto, other(), fault.Precondition, "PHOTO_REMOVED")
	svctest.Refused(t, b.Service, b.DescribePhoto, &intakev1.DescribePhotoRequest{RequestId: svctest.NewID(), Photo: photo.Name, Moment: 1}, fault.Precondition, "PHOTO_REMOVED")
	svctest.Refused(t, b.Service, b.downloading(t), &intakev1.DownloadPhotoRequest{Name: photo.Name}, fault.Precondition, "PHOTO_REMOVED")
	for _, none := range []func(*intakev1.RemovePhotoRequest){func(r *intakev1.RemovePhotoRequest) { r.Photo = id.Name("photos", id.New()) }} {
		r := other()
		none(r)
		svctest.Refused(t, b.Service, b.RemovePhoto, r, fault.NotFound, "PHOTO_NOT_FOUND")
	}
	shown, err := b.ListPhotos(t.Context(), &intakev1.ListPhotosRequest{Piece: piece.Name})
	kept, keptErr := b.ListPhotos(t.Context(), &intakev1.ListPhotosRequest{Piece: piece.Name, ShowRemoved: true})
	if err != nil || keptErr != nil || len(shown.Photos) != 0 || len(kept.Photos) != 1 {
		t.Errorf("shown, on record = %v, %v (%v, %v)", shown, kept, err, keptErr)
	}
	if retake := b.add(t, header(piece.Name), shot(t, 1)); retake.Number != 2 || retake.Name == photo.Name {
		t.Errorf("the same picture after the removal = %v, want a photo of its own", retake)
	}
}

// Without their place photos cannot be had, and that is said.
func TestServer_PhotosWithoutTheirPlace(t *testing.T) {
	b := setup(t)
	piece := b.take(t, dresser())
	photo := b.add(t, header(piece.Name), shot(t, 1))
	for _, f := range b.files(t) {
		if err := os.Remove(f); err != nil {
			t.Fatal(err)
		}
	}
	f := svctest.Refused(t, b.Service, b.downloading(t), &intakev1.DownloadPhotoRequest{Name: photo.Name}, fault.NotFound, "PHOTO_FILE_MISSING")
	if len(f.Text) < 40 {
		t.Errorf("it says %q", f.Text)
	}
	svctest.Refused(t, b.Service, b.downloading(t), &intakev1.DownloadPhotoRequest{Name: id.Name("photos", id.New())}, fault.NotFound, "PHOTO_NOT_FOUND")
	b.Stop()
	bare := svctest.Start(t, intakesvc.Name, intakesvc.Run, svctest.Options{URL: b.URL})
	c := &bundle{Service: bare, PhotoServiceClient: intakev1.NewPhotoServiceClient(bare.Conn)}
	svctest.Refused(t, bare, c.uploading(shot(t, 2), 256<<10), &intakev1.UploadPhotoRequest{RequestId: svctest.NewID(), Header: header(piece.Name)}, fault.Precondition, "PHOTOS_NOT_KEPT")
	svctest.Refused(t, bare, c.downloading(t), &intakev1.DownloadPhotoRequest{Name: photo.Name}, fault.Precondition, "PHOTOS_NOT_KEPT")
}

// Files go a day after the last photo that showed them, and those of which no photo came to be.
func TestServer_SweepPhotos(t *testing.T) {
	now := time.Date(2026, 3, 5, 12, 0, 0, 0, time.UTC)
	kept, err := album.At(t.Context(), "file://"+t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	db := pgtest.Open(t, intakesvc.Name, store.Constraints, boot.Migrations(store.Migrations))
	s := &server.Server{DB: db, Shop: wire.Shop{Now: func() time.Time { return now }}, Darkroom: server.NewDarkroom(kept)}
	inTx := func(fn func(ctx context.Context, st store.Store) error) {
		t.Helper()
		if err := db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error { return fn(ctx, store.New(tx)) }); err != nil {
			t.Fatal(err)
		}
	}
	piece := intake.Piece{ID: id.New(), Tag: 1, Client: "Ana", State: intake.InHand, Version: 1, Parts: []intake.Part{{ID: id.New(), Label: "top", Count: 1}}}
	inTx(func(ctx context.Context, st store.Store) error { return st.Insert(ctx, piece) })
	day, moment := now.Add(-25*time.Hour), now.Add(-23*time.Hour)
	stays := map[string]bool{}
	for i, c := range []struct {
		used    time.Time
		shown   bool
		removed time.Time
		stays   bool
	}{
		{used: day, shown: true, stays: true}, {used: moment, stays: true}, {used: day},
		{used: day, shown: true, removed: moment, stays: true}, {used: day, shown: true, removed: day},
	} {
		p, err := picture.Clean(shot(t, uint8(50*i)))
		if err != nil {
			t.Fatal(err)
		}
		file := intake.PhotoFile{SHA256: p.SHA256(), Width: 1, Height: 1, Bytes: 1}
		stays[file.SHA256] = c.stays
		if err := kept.Put(t.Context(), p); err != nil {
			t.Fatal(err)
		}
		ph := intake.Photo{ID: id.New(), Piece: piece.ID, Number: int32(i + 1), Moment: intake.Before, TakenAt: day, AddedAt: day, AddedBy: "Nell", File: file, Version: 1}
		inTx(func(ctx context.Context, st store.Store) error {
			err := st.UseFile(ctx, file, c.used)
			if c.shown {
				err = errors.Join(err, st.InsertPhoto(ctx, ph))
			}
			if !c.removed.IsZero() {
				ph.Removal = &intake.Removal{Reason: "blurred", By: "Nell", At: c.removed}
				err = errors.Join(err, st.UpdatePhoto(ctx, ph))
			}
			return err
		})
	}
	for range 2 {
		if err := s.SweepPhotos(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	for sha, want := range stays {
		r, err := kept.Open(t.Context(), sha, album.Thumbnail)
		if err == nil {
			_, err = io.Copy(io.Discard, r)
			_ = r.Close()
		}
		if got := err == nil; got != want || err != nil && !fault.Is(err, "PHOTO_FILE_MISSING") {
			t.Errorf("after the sweep %s is there: %t (%v), want %t", sha, got, err, want)
		}
	}
}
