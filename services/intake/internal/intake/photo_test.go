package intake_test

import (
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/intake/internal/intake"
)

func TestTakenAt(t *testing.T) {
	now := time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
	early, late := now.Add(-time.Hour), now.Add(time.Second)
	for name, c := range map[string]struct{ said, camera, want time.Time }{
		"said":             {early, now, early},
		"by the camera":    {time.Time{}, early, early},
		"at this moment":   {time.Time{}, now, now},
		"never set":        {time.Time{}, late, now},
		"begins in 1980":   {time.Time{}, time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC), now},
		"nothing is known": {time.Time{}, time.Time{}, now},
	} {
		if got := intake.TakenAt(c.said, c.camera, now); !got.Equal(c.want) {
			t.Errorf("%s: TakenAt = %v, want %v", name, got, c.want)
		}
	}
}

func TestPhoto_AddTo(t *testing.T) {
	leg := intake.Part{ID: id.New(), Label: "leg", Count: 4}
	p := intake.Piece{ID: id.New(), Tag: 7, Parts: []intake.Part{{ID: id.New(), Label: "seat", Count: 1}, leg}}
	for name, c := range map[string]struct {
		part  id.ID
		label string
	}{"of the whole": {id.Nil, ""}, "of a part": {leg.ID, "leg"}} {
		got, err := intake.Photo{Part: c.part}.AddTo(p, 4)
		if err != nil || got.Piece != p.ID || got.PieceTag != 7 || got.Number != 5 || got.PartLabel != c.label || got.Version != 1 {
			t.Errorf("%s: AddTo = %+v, %v", name, got, err)
		}
	}
	if _, err := (intake.Photo{Part: id.New()}).AddTo(p, 0); !fault.Is(err, "PART_NOT_FOUND") {
		t.Errorf("AddTo another's part = %v, want PART_NOT_FOUND", err)
	}
}

// Each command in each state.
func TestPhoto_Commands(t *testing.T) {
	removed := &intake.Removal{Reason: "blurred", By: "Nell"}
	for name, c := range map[string]struct {
		do      func(*intake.Photo) error
		was     *intake.Removal
		version int64
		reason  string
	}{
		"describe":              {describe(intake.Defect, "burn"), nil, 4, ""},
		"describe as it is":     {describe(intake.Before, "as found"), nil, 3, ""},
		"describe the note":     {describe(intake.Before, ""), nil, 4, ""},
		"remove":                {remove, nil, 4, ""},
		"describe what is gone": {describe(intake.Defect, "burn"), removed, 3, "PHOTO_REMOVED"},
		"remove what is gone":   {remove, removed, 3, "PHOTO_REMOVED"},
	} {
		ph := intake.Photo{Number: 2, PieceTag: 7, Moment: intake.Before, Note: "as found", Version: 3, Removal: c.was}
		err := c.do(&ph)
		if c.reason == "" && err != nil || c.reason != "" && !fault.Is(err, c.reason) {
			t.Errorf("%s = %v, want %q", name, err, c.reason)
		}
		if ph.Version != c.version {
			t.Errorf("%s: version %d, want %d", name, ph.Version, c.version)
		}
		if c.was != nil && (ph.Removal != c.was || ph.Note != "as found") {
			t.Errorf("%s was refused and changed %+v", name, ph)
		}
	}
}

func describe(m intake.Moment, note string) func(*intake.Photo) error {
	return func(ph *intake.Photo) error {
		was := *ph
		changed, err := ph.Describe(m, note)
		if err == nil && (ph.Moment != m || ph.Note != note || changed != (was.Moment != m || was.Note != note)) {
			return fault.New(fault.Internal, "NOT_DESCRIBED", "it is %+v", ph)
		}
		return err
	}
}

func remove(ph *intake.Photo) error {
	err := ph.Remove(intake.Removal{Reason: "twice", By: "Odile"})
	if err == nil && (ph.Removal == nil || ph.Removal.Reason != "twice") {
		return fault.New(fault.Internal, "NOT_REMOVED", "it is %+v", ph)
	}
	return err
}
