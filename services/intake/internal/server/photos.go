package server

import (
	"context"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/picture"
	"tackfree/services/intake/internal/store"
)

// UploadPhoto implements PhotoService. What it is a photo of is checked before the file is looked at,
// and the file is on disk before the photo is on record.
func (s *Server) UploadPhoto(in grpc.ClientStreamingServer[intakev1.UploadPhotoRequest, intakev1.UploadPhotoResponse]) error {
	a, err := s.Darkroom.receive(in)
	if err != nil {
		return err
	}
	if a.first.Header.MoreFollows {
		return in.SendAndClose(&intakev1.UploadPhotoResponse{KeptBytes: int64(len(a.file))})
	}
	by := caller.Of(in.Context())
	by.RequestID = a.first.RequestId
	answer, err := s.addPhoto(caller.With(in.Context(), by), a.first, a.file)
	if err != nil {
		return err
	}
	if a.before > 0 {
		_ = s.Darkroom.Album.DropParts(in.Context(), a.upload) // else they go when they are a day old
	}
	return in.SendAndClose(answer)
}

func (s *Server) addPhoto(ctx context.Context, r *intakev1.UploadPhotoRequest, file []byte) (*intakev1.UploadPhotoResponse, error) {
	now, err := s.Shop.Instant("", nil)
	if err != nil {
		return nil, err
	}
	photo, err := s.decodePhoto(ctx, r.Header, now)
	if err != nil {
		return nil, err
	}
	if err := s.checkPiece(ctx, photo); err != nil {
		return nil, err
	}
	p, err := s.Darkroom.clean(ctx, file)
	if err != nil {
		return nil, err
	}
	photo.TakenAt = intake.TakenAt(photo.TakenAt, p.TakenAt(s.Shop.Zone), photo.AddedAt)
	photo.File = fileOf(p)
	if err := s.keepFile(ctx, photo.File, p, now); err != nil {
		return nil, err
	}
	r.Header.ResumeAt = 0 // in how many streams it came is no part of what is asked
	return once.Do(ctx, s.DB, &intakev1.UploadPhotoRequest{RequestId: r.RequestId, Header: r.Header}, now,
		func(ctx context.Context, tx *pg.Tx) (*intakev1.UploadPhotoResponse, error) {
			kept, err := s.keepPhoto(ctx, tx, photo, now)
			return &intakev1.UploadPhotoResponse{Photo: s.encodePhoto(kept)}, err
		})
}

// checkPiece refuses a photo of what is not there before anything is kept of it.
func (s *Server) checkPiece(ctx context.Context, photo intake.Photo) error {
	return s.DB.Snapshot(ctx, func(q pg.Querier) error {
		p, err := store.New(q).Get(ctx, photo.Piece)
		if err != nil {
			return at(err, "PIECE_NOT_FOUND", "header.piece")
		}
		_, err = photo.PartOf(p)
		return err
	})
}

// at names the field that a fault of that reason is about.
func at(err error, reason, field string) error {
	if f := fault.Of(err); f != nil && f.Reason == reason {
		return f.At(field)
	}
	return err
}

func fileOf(p picture.Picture) intake.PhotoFile {
	return intake.PhotoFile{SHA256: p.SHA256(), Width: int32(p.Width), Height: int32(p.Height), Bytes: int64(len(p.Full))}
}

// keepFile writes the picture, also where it is there already: what is there may be of a machine that
// died while it wrote. It is noted first, so that it is found again should nothing come of it.
func (s *Server) keepFile(ctx context.Context, f intake.PhotoFile, p picture.Picture, now time.Time) error {
	err := s.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error { return store.New(tx).UseFile(ctx, f, now) })
	if err != nil {
		return err
	}
	return s.Darkroom.Album.Put(ctx, p)
}

// keepPhoto writes the photo, or gives the one of the piece that shows the same picture.
func (s *Server) keepPhoto(ctx context.Context, tx *pg.Tx, photo intake.Photo, now time.Time) (intake.Photo, error) {
	st := store.New(tx)
	p, err := st.Lock(ctx, photo.Piece)
	if err != nil {
		return photo, err
	}
	shown, err := st.ShownPhoto(ctx, p.ID, photo.File.SHA256)
	if err != nil {
		return photo, err
	}
	if shown != id.Nil {
		return st.GetPhoto(ctx, shown)
	}
	last, err := st.LastPhotoNumber(ctx, p.ID)
	if err != nil {
		return photo, err
	}
	if photo, err = photo.AddTo(p, last); err != nil {
		return photo, err
	}
	if err := st.InsertPhoto(ctx, photo); err != nil {
		return photo, err
	}
	return photo, s.tellPhoto(ctx, tx, photo, now, photoAdded(photo))
}

// tellPhoto writes the event that made the photo's present version. A photo counts by itself: who
// takes one while somebody else corrects the piece is in nobody's way.
func (s *Server) tellPhoto(ctx context.Context, tx *pg.Tx, photo intake.Photo, now time.Time, payload proto.Message) error {
	return s.Log.Append(ctx, tx, outbox.Event{
		Kind: "photo", Aggregate: photo.ID, Version: photo.Version, Piece: photo.Piece, OccurredAt: now, Payload: payload}, now)
}

// DescribePhoto implements PhotoService.
func (s *Server) DescribePhoto(ctx context.Context, r *intakev1.DescribePhotoRequest) (*intakev1.DescribePhotoResponse, error) {
	return changePhoto(ctx, s, r, func(photo *intake.Photo, _ time.Time) (proto.Message, error) {
		was := described(*photo)
		changed, err := photo.Describe(moments[r.Moment], r.Note)
		if err != nil || !changed {
			return nil, err
		}
		return &eventsv1.PhotoDescribed{PhotoId: photo.ID.String(), OldDescription: was, NewDescription: described(*photo)}, nil
	}, func(photo *intakev1.Photo) *intakev1.DescribePhotoResponse {
		return &intakev1.DescribePhotoResponse{Photo: photo}
	})
}

// RemovePhoto implements PhotoService.
func (s *Server) RemovePhoto(ctx context.Context, r *intakev1.RemovePhotoRequest) (*intakev1.RemovePhotoResponse, error) {
	return changePhoto(ctx, s, r, func(photo *intake.Photo, now time.Time) (proto.Message, error) {
		err := photo.Remove(intake.Removal{Reason: r.Reason, By: caller.Of(ctx).Actor, At: now})
		return &eventsv1.PhotoRemoved{PhotoId: photo.ID.String(), Reason: r.Reason}, err
	}, func(photo *intakev1.Photo) *intakev1.RemovePhotoResponse {
		return &intakev1.RemovePhotoResponse{Photo: photo}
	})
}

// photoChange is a command that changes a photo.
type photoChange interface {
	once.Command
	GetPhoto() string
	GetEtag() string
}

// changePhoto lets change decide what becomes of a photo under lock, and keeps it with the event that
// this gives; without one nothing has changed.
func changePhoto[R proto.Message](ctx context.Context, s *Server, r photoChange,
	change func(*intake.Photo, time.Time) (proto.Message, error), answer func(*intakev1.Photo) R) (R, error) {
	var none R
	now, err := s.Shop.Instant("", nil)
	if err != nil {
		return none, err
	}
	photoID, err := id.One("photo", r.GetPhoto(), "photos")
	if err != nil {
		return none, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (R, error) {
		st := store.New(tx)
		photo, err := st.LockPhoto(ctx, photoID)
		if err != nil {
			return none, err
		}
		if err := wire.CheckEtag(r.GetEtag(), photo.Version); err != nil {
			return none, err
		}
		event, err := change(&photo, now)
		if err != nil || event == nil {
			return answer(s.encodePhoto(photo)), err
		}
		if err := st.UpdatePhoto(ctx, photo); err != nil {
			return none, err
		}
		return answer(s.encodePhoto(photo)), s.tellPhoto(ctx, tx, photo, now, event)
	})
}
