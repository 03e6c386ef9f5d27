package store

import (
	"context"
	"time"

	"github.com/google/uuid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store/storedb"
)

// UseFile notes that a picture is about to be written, or was; who sweeps leaves it alone for a while
// from then on. It waits for who is sweeping it away at this moment.
func (s Store) UseFile(ctx context.Context, f intake.PhotoFile, now time.Time) error {
	return s.q.UsePhotoFile(ctx, storedb.UsePhotoFileParams{Sha256: f.SHA256, Width: f.Width, Height: f.Height, SizeBytes: f.Bytes, UsedAt: now})
}

// LockUnusedFile gives a picture that no photo shows and that was not used since before, and keeps
// others from using it until the transaction ends; "" for none.
func (s Store) LockUnusedFile(ctx context.Context, before time.Time) (sha256 string, err error) {
	found, err := s.q.LockUnusedPhotoFile(ctx, before)
	if len(found) == 0 {
		return "", err
	}
	return found[0], err
}

// SweptFile notes that a picture's file is gone.
func (s Store) SweptFile(ctx context.Context, sha256 string, now time.Time) error {
	return s.q.SweptPhotoFile(ctx, storedb.SweptPhotoFileParams{Sha256: sha256, SweptAt: &now})
}

// LastPhotoNumber gives the highest number that a photo of the piece has, or had; 0 for none. It says
// what comes next only while the piece is locked.
func (s Store) LastPhotoNumber(ctx context.Context, piece id.ID) (int32, error) {
	return s.q.LastPhotoNumber(ctx, piece)
}

// ShownPhoto gives the photo of the piece that shows a picture and was not removed; id.Nil for none.
func (s Store) ShownPhoto(ctx context.Context, piece id.ID, sha256 string) (id.ID, error) {
	found, err := s.q.ShownPhoto(ctx, storedb.ShownPhotoParams{PieceID: piece, Sha256: sha256})
	if len(found) == 0 {
		return id.Nil, err
	}
	return found[0], err
}

// InsertPhoto writes a new photo; its file must have been used.
func (s Store) InsertPhoto(ctx context.Context, ph intake.Photo) error {
	return s.q.InsertPhoto(ctx, storedb.InsertPhotoParams{
		ID: ph.ID, PieceID: ph.Piece, Number: ph.Number, PartID: orNull(ph.Part), Moment: string(ph.Moment), Note: ph.Note,
		StageID: orNull(ph.Stage), InspectionID: orNull(ph.Inspection), TakenAt: ph.TakenAt, AddedAt: ph.AddedAt, AddedBy: ph.AddedBy,
		Sha256: ph.File.SHA256, Version: ph.Version})
}

func orNull(i id.ID) uuid.NullUUID { return uuid.NullUUID{UUID: i, Valid: i != id.Nil} }

// UpdatePhoto writes what a command may change. The file of one that is removed is kept for a while yet.
func (s Store) UpdatePhoto(ctx context.Context, ph intake.Photo) error {
	row := storedb.UpdatePhotoParams{ID: ph.ID, Moment: string(ph.Moment), Note: ph.Note, Version: ph.Version}
	if r := ph.Removal; r != nil {
		row.RemoveReason, row.RemovedBy, row.RemovedAt = &r.Reason, &r.By, &r.At
		if err := s.q.TouchPhotoFile(ctx, storedb.TouchPhotoFileParams{Sha256: ph.File.SHA256, UsedAt: r.At}); err != nil {
			return err
		}
	}
	return s.q.UpdatePhoto(ctx, row)
}

// LockPhoto reads a photo and keeps others from changing it until the transaction ends. The lock is a
// statement before the reading one, which therefore sees what the lock was waited for. Fault:
// PHOTO_NOT_FOUND.
func (s Store) LockPhoto(ctx context.Context, photo id.ID) (intake.Photo, error) {
	if err := s.q.LockPhoto(ctx, photo); err != nil {
		return intake.Photo{}, err
	}
	return s.GetPhoto(ctx, photo)
}

// GetPhoto reads a photo. Fault: PHOTO_NOT_FOUND.
func (s Store) GetPhoto(ctx context.Context, photo id.ID) (intake.Photo, error) {
	rows, err := s.q.GetPhoto(ctx, photo)
	if err != nil {
		return intake.Photo{}, err
	}
	if len(rows) == 0 {
		return intake.Photo{}, fault.New(fault.NotFound, "PHOTO_NOT_FOUND", "There is no such photo; look it up among those of its piece.").At("photo")
	}
	return fromPhotoRow(rows[0]), nil
}

// PhotosOf says which photos of a piece are wanted.
type PhotosOf struct {
	Piece       id.ID
	Moment      intake.Moment // "": of all
	ShowRemoved bool
	After       int32 // only of higher numbers
	Limit       int32
}

// ListPhotos reads photos of a piece by number.
func (s Store) ListPhotos(ctx context.Context, a PhotosOf) ([]intake.Photo, error) {
	rows, err := s.q.ListPhotos(ctx, storedb.ListPhotosParams{PieceID: a.Piece, After: a.After, ShowRemoved: a.ShowRemoved, Moment: string(a.Moment), PageLimit: a.Limit})
	if err != nil {
		return nil, err
	}
	photos := make([]intake.Photo, len(rows))
	for i, row := range rows {
		photos[i] = fromPhotoRow(storedb.GetPhotoRow(row))
	}
	return photos, nil
}

func fromPhotoRow(row storedb.GetPhotoRow) intake.Photo {
	p, f := row.Photo, row.PhotoFile
	ph := intake.Photo{
		ID: p.ID, Piece: p.PieceID, PieceTag: row.Tag, Number: p.Number, Part: p.PartID.UUID, PartLabel: row.PartLabel, Moment: intake.Moment(p.Moment), Note: p.Note,
		Stage: p.StageID.UUID, Inspection: p.InspectionID.UUID, TakenAt: p.TakenAt, AddedAt: p.AddedAt, AddedBy: p.AddedBy, Version: p.Version,
		File: intake.PhotoFile{SHA256: f.Sha256, Width: f.Width, Height: f.Height, Bytes: f.SizeBytes},
	}
	if p.RemovedAt != nil {
		ph.Removal = &intake.Removal{Reason: *p.RemoveReason, By: *p.RemovedBy, At: *p.RemovedAt}
	}
	return ph
}
