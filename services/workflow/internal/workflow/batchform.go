package workflow

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Member is a stage that is to be run in a batch, in the plan of its piece.
type Member struct {
	Plan  *Plan
	Stage id.ID
	In    string // the name of the batch that it is in already; empty: none, or not asked for
}

// FormBatch makes an open batch of stages, and puts them into it. How it is split may be left
// open: then it is by area where all are known, and equally where not. They need not be ready
// yet. Faults: STAGE_NOT_FOUND, STAGE_TWICE, PIECE_SCRAPPED, STAGE_FINISHED, STAGE_IN_BATCH,
// STAGE_HAS_OPEN_CLOCK, BATCH_MIXED, AREA_UNKNOWN.
func FormBatch(batch id.ID, name string, split BatchSplit, members []Member, now time.Time) (Batch, []*Stage, error) {
	b := Batch{ID: batch, Name: name, State: BatchOpen, FormedAt: now, Version: 1}
	stages := make([]*Stage, len(members))
	for i, m := range members {
		s, err := m.free()
		if err != nil {
			return b, nil, err
		}
		if slices.Contains(stages, s) {
			return b, nil, fault.New(fault.Invalid, "STAGE_TWICE", "%s is named twice.", m.title(*s)).At(fmt.Sprintf("stages[%d]", i))
		}
		if i > 0 {
			if err := m.alike(*s, members[0], *stages[0]); err != nil {
				return b, nil, err
			}
		}
		stages[i] = s
	}
	if err := apart(members, stages); err != nil {
		return b, nil, err
	}
	b.Kind, b.Product, b.ProductName = stages[0].Kind, stages[0].Product, stages[0].ProductName
	weights, err := b.weigh(split, members, stages)
	for i, s := range stages {
		b.Shares = append(b.Shares, Share{Stage: s.ID, Title: s.Title(), Piece: s.Piece, Tag: members[i].Plan.Piece.Tag, Pass: s.Pass(), Weight: weights[i]})
		s.Batch = b.ID
	}
	return b, stages, err
}

// title names a stage among those of several pieces: "sand (top) of piece 7".
func (m Member) title(s Stage) string {
	return fmt.Sprintf("%s of piece %d", s.Title(), m.Plan.Piece.Tag)
}

// part names what a stage is done on: "top of piece 7".
func (m Member) part(s Stage) string {
	if s.Part == id.Nil {
		return fmt.Sprintf("piece %d as a whole", m.Plan.Piece.Tag)
	}
	return fmt.Sprintf("%s of piece %d", s.PartLabel, m.Plan.Piece.Tag)
}

// free finds a stage that nothing holds.
func (m Member) free() (*Stage, error) {
	s, err := m.Plan.open(m.Stage)
	if err != nil {
		return nil, m.of(err)
	}
	switch {
	case s.Batch != id.Nil:
		return nil, fault.New(fault.Precondition, "STAGE_IN_BATCH", "%s is in the batch %q already. Leave it out here, or take it out of that batch or dissolve that first.", m.title(*s), m.In).With("batch", s.Batch.String())
	case len(m.Plan.OnIt[m.Stage]) > 0:
		return nil, m.of(m.Plan.onTheClock(*s))
	}
	return s, nil
}

// of says in a refusal whose stage it is about.
func (m Member) of(err error) error { return OfPiece(err, m.Plan.Piece.Tag) }

// OfPiece says in a refusal which of several pieces it is about, by its tag, if it does not say
// so by itself.
func OfPiece(err error, tag int32) error {
	f := fault.Of(err)
	if f == nil || f.Kind == fault.NotFound || strings.HasPrefix(f.Text, fmt.Sprintf("Piece %d ", tag)) {
		return err
	}
	f = f.With("piece_tag", fmt.Sprint(tag))
	f.Text = fmt.Sprintf("Piece %d: %s", tag, f.Text)
	return f
}

// alike refuses a stage that is of another kind than the first one, or laid with something
// else.
func (m Member) alike(s Stage, first Member, as Stage) error {
	var differs string
	switch {
	case s.Kind != as.Kind:
		differs = fmt.Sprintf("the one is %s, the other %s", spoken(as.Kind), spoken(s.Kind))
	case s.Product != as.Product || s.ProductName != as.ProductName:
		differs = fmt.Sprintf("the one takes %s, the other %s", as.takes(), s.takes())
	default:
		return nil
	}
	return mixed("%s and %s cannot be run as one: %s. Put stages of one kind and one product into a batch.", first.title(as), m.title(s), differs)
}

// spoken is how people say an identifier: clean and degrease.
func spoken(identifier string) string { return strings.ReplaceAll(identifier, "_", " ") }

func mixed(format string, args ...any) error {
	return fault.New(fault.Precondition, "BATCH_MIXED", format, args...).At("stages")
}

// takes names the stage's product.
func (s Stage) takes() string {
	if s.ProductName == "" {
		return "no product"
	}
	return s.ProductName
}

// apart refuses stages of which one comes after another, however far: such are never ready
// together.
func apart(members []Member, stages []*Stage) error {
	for i, m := range members {
		for _, later := range m.Plan.builtOn(m.Stage)[1:] {
			if slices.Contains(stages, later) {
				return mixed("%s comes after %s, so they cannot be run as one. Leave one of them out.", m.title(*later), stages[i].Title())
			}
		}
	}
	return nil
}

// weigh gives each stage its weight, by area in cm², which no tape is better than.
func (b *Batch) weigh(split BatchSplit, members []Member, stages []*Stage) ([]int64, error) {
	var unknown, unmeasured []string
	byArea, equal := make([]int64, len(stages)), make([]int64, len(stages))
	for i, s := range stages {
		byArea[i], equal[i] = max(1, int64(math.Round(s.AreaM2*1e4))), 1
		if s.AreaM2 == 0 {
			unknown, unmeasured = append(unknown, members[i].title(*s)), append(unmeasured, members[i].part(*s))
		}
	}
	switch {
	case split == ByArea && len(unknown) > 0:
		return equal, fault.New(fault.Precondition, "AREA_UNKNOWN",
			"Nobody said how large %s %s. An area comes from the length and the width of a part, which are told when the piece is taken in, or from its finish plan; none is known of %s. Split equally, or leave out what is not known.",
			listed(unknown), isOrAre(unknown), listed(unmeasured)).At("split")
	case split == Equally || len(unknown) > 0:
		b.Split = Equally
		return equal, nil
	}
	b.Split = ByArea
	return byArea, nil
}

func isOrAre(things []string) string {
	if len(things) == 1 {
		return "is"
	}
	return "are"
}
