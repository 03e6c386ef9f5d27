package sim

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"google.golang.org/protobuf/encoding/protojson"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/testdata/week/routes"
)

// piece is a piece and its stages.
type piece struct {
	number int
	parts  []*part
	stages []*stage
	urgent int // the higher, the sooner it is worked on
	in     time.Time
}

// part is a part of a piece, and where it stands.
type part struct {
	Label  string  `json:"label"`
	Count  int     `json:"count,omitempty"`
	Length *inches `json:"length,omitempty"`
	Width  *inches `json:"width,omitempty"`

	route   string
	piece   *piece
	station *station  // nil: none
	since   time.Time // when it came there, perhaps later in this minute
	was     *station  // where it stood until then
	away    bool      // others have it
}

// stage is a stage of a piece, and how far it is.
type stage struct {
	piece   *piece
	part    *part // nil: the whole piece
	key     string
	kind    string
	skill   string
	level   int
	station string // kind that it needs; empty: none
	left    time.Duration
	whole   time.Duration
	dries   time.Duration
	after   []*stage

	begun    bool
	owner    *person
	by       []*person // who worked on it in this pass
	at       []*person // who is at it now
	reserved bool      // for people who do it together
	held     bool      // somebody forgot to clock off, or it is not sent yet
	done     time.Time // zero: it is not
	rework   bool
}

func (pc *piece) tag() string { return strconv.Itoa(pc.number) }

// title is what people call the stage.
func (st *stage) title() string {
	if st.part == nil {
		return st.key
	}
	return fmt.Sprintf("%s (%s)", st.key, st.part.Label)
}

func (st *stage) ref() ref { return ref{Piece: st.piece.tag(), Stage: st.title()} }

// parts are those on which the stage is done.
func (st *stage) parts() []*part {
	if st.part != nil {
		return []*part{st.part}
	}
	return st.piece.parts
}

// busy reports whether somebody works on the piece, or it is kept as it is.
func (pc *piece) busy() bool {
	return slices.ContainsFunc(pc.stages, func(st *stage) bool { return len(st.at) > 0 || st.held })
}

// came is when the last part of the piece came to a station.
func (pc *piece) came(to *station) (at time.Time) {
	for _, pt := range pc.parts {
		if pt.station == to && pt.since.After(at) {
			at = pt.since
		}
	}
	return at
}

// settling is how long it takes until a piece that came in has its stages.
const settling = 6 * time.Minute

// ready is from when on a stage could begin: what comes before it is done, and what lies on its
// parts is dry. false: it could not.
func (st *stage) ready() (from time.Time, could bool) {
	if !st.done.IsZero() || st.held || len(st.at) > 0 || st.kind == "upholstery" {
		return from, false
	}
	for _, pt := range st.parts() {
		if pt.away {
			return from, false
		}
	}
	from = st.piece.in.Add(settling)
	for _, before := range st.after {
		if before.done.IsZero() {
			return from, false
		}
		from = later(from, before.done)
	}
	for _, other := range st.piece.stages {
		if !other.done.IsZero() && other.dries > 0 && (other.part == st.part || other.part == nil || st.part == nil) {
			from = later(from, other.done.Add(other.dries+time.Minute))
		}
	}
	return from, true
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// sendBack opens a stage again, and what built on it.
func (st *stage) sendBack() {
	again := map[*stage]bool{st: true}
	for _, s := range st.piece.stages { // each stands after those it comes after
		if again[s] || slices.ContainsFunc(s.after, func(b *stage) bool { return again[b] }) {
			again[s] = true
			if !s.done.IsZero() {
				s.done, s.left, s.by, s.rework = time.Time{}, s.whole/2, nil, true
			}
		}
	}
}

// layOut makes the stages of a piece, as the service does.
func (pc *piece) layOut(size int) {
	for _, pt := range pc.parts {
		for _, step := range steps(pt.route) {
			if pc.stage(step, pt) == nil {
				pc.stages = append(pc.stages, newStage(pc, pt, step, size))
			}
		}
	}
	for _, pt := range pc.parts {
		for _, step := range steps(pt.route) {
			st := pc.stage(step, pt)
			for _, key := range step.After {
				i := slices.IndexFunc(steps(pt.route), func(s *workflowv1.Step) bool { return s.Key == key })
				if before := pc.stage(steps(pt.route)[i], pt); !slices.Contains(st.after, before) {
					st.after = append(st.after, before)
				}
			}
		}
	}
	pc.inOrder()
}

func newStage(pc *piece, pt *part, step *workflowv1.Step, size int) *stage {
	minutes := int(step.AttendedMinutes) * size / 100
	st := &stage{piece: pc, key: step.Key, kind: step.Kind, skill: step.Skill, level: int(step.SkillLevel), station: step.Station,
		whole: time.Duration(minutes) * time.Minute, dries: time.Duration(step.UnattendedMinutes) * time.Minute}
	if step.Scope == workflowv1.Step_SCOPE_PART {
		st.part = pt
	}
	st.left = st.whole
	return st
}

// stage finds the stage of a step; nil: it is not laid out yet.
func (pc *piece) stage(step *workflowv1.Step, pt *part) *stage {
	if step.Scope == workflowv1.Step_SCOPE_PIECE {
		pt = nil
	}
	i := slices.IndexFunc(pc.stages, func(st *stage) bool { return st.key == step.Key && st.part == pt })
	if i < 0 {
		return nil
	}
	return pc.stages[i]
}

// inOrder puts each stage after those it comes after.
func (pc *piece) inOrder() {
	var out []*stage
	for len(out) < len(pc.stages) {
		for _, st := range pc.stages {
			open := func(b *stage) bool { return !slices.Contains(out, b) }
			if !slices.Contains(out, st) && !slices.ContainsFunc(st.after, open) {
				out = append(out, st)
			}
		}
	}
	pc.stages = out
}

var read = map[string][]*workflowv1.Step{}

// steps are those of a route.
func steps(route string) []*workflowv1.Step {
	if read[route] == nil {
		b, err := routes.Files.ReadFile(route + ".json")
		if err != nil {
			panic(err)
		}
		r := &workflowv1.Route{}
		if err := protojson.Unmarshal(b, r); err != nil {
			panic(err)
		}
		read[route] = r.Steps
	}
	return read[route]
}
