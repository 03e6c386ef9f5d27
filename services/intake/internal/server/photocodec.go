package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/album"
	"tackfree/services/intake/internal/intake"
)

// decodePhoto reads what a file is a photo of; its time of taking is zero if it is not said.
func (s *Server) decodePhoto(ctx context.Context, h *intakev1.UploadPhotoRequest_Header, now time.Time) (ph intake.Photo, err error) {
	ph = intake.Photo{ID: id.New(), Moment: moments[h.Moment], Note: h.Note, AddedAt: now, AddedBy: caller.Of(ctx).Actor}
	if ph.Piece, err = id.One("header.piece", h.Piece, "pieces"); err != nil {
		return ph, err
	}
	if ph.Part, err = ofPiece(ph.Piece, "header.part", h.Part, "parts"); err != nil {
		return ph, err
	}
	if ph.Stage, err = ofPiece(ph.Piece, "header.stage", h.Stage, "stages"); err != nil {
		return ph, err
	}
	if h.Inspection != "" {
		if ph.Inspection, err = id.One("header.inspection", h.Inspection, "inspections"); err != nil {
			return ph, err
		}
	}
	if h.TakenTime != nil {
		ph.TakenAt, err = s.Shop.Instant("header.taken_time", h.TakenTime)
	}
	return ph, err
}

// ofPiece reads an optional name of something of the piece. Faults: PART_NOT_FOUND and
// STAGE_OF_ANOTHER_PIECE of something of another.
func ofPiece(piece id.ID, field, name, collection string) (id.ID, error) {
	if name == "" {
		return id.Nil, nil
	}
	ids, err := id.FromName(field, name, "pieces", collection)
	switch {
	case err != nil:
		return id.Nil, err
	case ids[0] == piece:
		return ids[1], nil
	case collection == "parts":
		return id.Nil, fault.New(fault.NotFound, "PART_NOT_FOUND", "This part is of another piece; look the parts of this one up.").At(field)
	}
	return id.Nil, fault.New(fault.Invalid, "STAGE_OF_ANOTHER_PIECE", "This stage is of another piece; name one of the piece that the photo is of, or none.").At(field)
}

func (s *Server) encodePhoto(ph intake.Photo) *intakev1.Photo {
	out := &intakev1.Photo{
		Name: id.Name("photos", ph.ID), Piece: id.Name("pieces", ph.Piece), PieceTag: ph.PieceTag, Number: ph.Number, PartLabel: ph.PartLabel,
		Moment: momentsOut[ph.Moment], Note: ph.Note, TakenTime: wire.ToInstant(ph.TakenAt), AddTime: wire.ToInstant(ph.AddedAt), AddedBy: ph.AddedBy,
		Width: ph.File.Width, Height: ph.File.Height, SizeBytes: ph.File.Bytes, Sha256: ph.File.SHA256, ContentType: album.ContentType, Etag: wire.Etag(ph.Version),
	}
	if ph.Part != id.Nil {
		out.Part = id.Name("pieces", ph.Piece, "parts", ph.Part)
	}
	if ph.Stage != id.Nil {
		out.Stage = id.Name("pieces", ph.Piece, "stages", ph.Stage)
	}
	if ph.Inspection != id.Nil {
		out.Inspection = id.Name("inspections", ph.Inspection)
	}
	if r := ph.Removal; r != nil {
		out.Removal = &intakev1.Photo_Removal{Reason: r.Reason, RemovedBy: r.By, RemoveTime: wire.ToInstant(r.At)}
	}
	return out
}

var moments = map[intakev1.Photo_Moment]intake.Moment{
	intakev1.Photo_MOMENT_BEFORE: intake.Before, intakev1.Photo_MOMENT_DURING: intake.During,
	intakev1.Photo_MOMENT_AFTER: intake.After, intakev1.Photo_MOMENT_DEFECT: intake.Defect,
}

var momentsOut = func() map[intake.Moment]intakev1.Photo_Moment {
	out := make(map[intake.Moment]intakev1.Photo_Moment, len(moments))
	for wire, moment := range moments {
		out[moment] = wire
	}
	return out
}()

func photoAdded(ph intake.Photo) *eventsv1.PhotoAdded {
	e := &eventsv1.PhotoAdded{PhotoId: ph.ID.String(), Number: ph.Number, Description: described(ph), TakenAt: timestamppb.New(ph.TakenAt), Sha256: ph.File.SHA256}
	for to, from := range map[*string]id.ID{&e.PartId: ph.Part, &e.StageId: ph.Stage, &e.InspectionId: ph.Inspection} {
		if from != id.Nil {
			*to = from.String()
		}
	}
	return e
}

func described(ph intake.Photo) *eventsv1.PhotoDescription {
	return &eventsv1.PhotoDescription{Moment: string(ph.Moment), Note: ph.Note}
}
