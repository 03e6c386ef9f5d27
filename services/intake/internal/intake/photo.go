package intake

import (
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Moment is what of the work a photo shows.
type Moment string

// The moments.
const (
	Before Moment = "before" // as the piece came in
	During Moment = "during" // while it is worked on
	After  Moment = "after"  // as it leaves
	Defect Moment = "defect" // something that is not as it should be
)

// Photo is a picture of a piece, or of a part of it. A removed one stays on record.
type Photo struct {
	ID, Piece  id.ID
	PieceTag   int32
	Number     int32 // 1, 2, 3 … on the piece
	Part       id.ID // id.Nil: of the whole piece
	PartLabel  string
	Moment     Moment
	Note       string
	Stage      id.ID // what it belongs to, as it was said; id.Nil: nothing
	Inspection id.ID
	TakenAt    time.Time
	AddedAt    time.Time
	AddedBy    string
	File       PhotoFile
	Removal    *Removal
	Version    int64
}

// PhotoFile is a picture that is kept. Photos of several pieces may show one.
type PhotoFile struct {
	SHA256        string // of its bytes, in hexadecimal; it goes by that
	Width, Height int32  // in pixels
	Bytes         int64
}

// Removal is why, when and by whom a photo was taken away.
type Removal struct {
	Reason, By string
	At         time.Time
}

// PartOf finds the label of the photo's part; "" of the whole piece. Fault: PART_NOT_FOUND.
func (ph Photo) PartOf(p Piece) (label string, err error) {
	if ph.Part == id.Nil {
		return "", nil
	}
	for _, part := range p.Parts {
		if part.ID == ph.Part {
			return part.Label, nil
		}
	}
	return "", fault.New(fault.NotFound, "PART_NOT_FOUND", "Piece %d has no such part; look its parts up.", p.Tag).At("header.part")
}

// AddTo makes it the next photo of a piece of which last is the highest number so far. A piece that was
// sold or given up can have photos too. Fault: PART_NOT_FOUND.
func (ph Photo) AddTo(p Piece, last int32) (Photo, error) {
	label, err := ph.PartOf(p)
	ph.Piece, ph.PieceTag, ph.PartLabel, ph.Number, ph.Version = p.ID, p.Tag, label, last+1, 1
	return ph, err
}

// firstYear: cameras that were never set begin long before this year.
const firstYear = 2000

// TakenAt says when a photo was taken: as somebody says, else by the camera's clock, else now. Zero is
// not said; a camera that is ahead of the shop's clock, or far behind it, was never set.
func TakenAt(said, camera, now time.Time) time.Time {
	switch {
	case !said.IsZero():
		return said
	case camera.Year() < firstYear, camera.After(now):
		return now
	}
	return camera
}

// Describe says otherwise what the photo shows, and reports whether that is something else. Fault:
// PHOTO_REMOVED.
func (ph *Photo) Describe(moment Moment, note string) (changed bool, err error) {
	if err := ph.Shown(); err != nil {
		return false, err
	}
	if ph.Moment == moment && ph.Note == note {
		return false, nil
	}
	ph.Moment, ph.Note = moment, note
	ph.Version++
	return true, nil
}

// Remove takes the photo away. Fault: PHOTO_REMOVED.
func (ph *Photo) Remove(r Removal) error {
	if err := ph.Shown(); err != nil {
		return err
	}
	ph.Removal = &r
	ph.Version++
	return nil
}

// Shown is nil for a photo that was not removed. Fault: PHOTO_REMOVED.
func (ph *Photo) Shown() error {
	if ph.Removal == nil {
		return nil
	}
	return fault.New(fault.Precondition, "PHOTO_REMOVED", "Photo %d of piece %d was removed by %s: %s.", ph.Number, ph.PieceTag, ph.Removal.By, ph.Removal.Reason)
}
