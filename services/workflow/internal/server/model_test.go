package server_test

import (
	"slices"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
)

// Random commands by twelve people on two pieces, or by three whose phones are mostly offline,
// against a floor that keeps what it knows in a few lists: the service takes and refuses the same
// ones, and shows the same afterwards.
func TestServer_RandomCommandsAgainstModel(t *testing.T) {
	t.Parallel()
	f := setupWith(t, svctest.Options{Now: func() time.Time { return today }})
	rapid.Check(t, func(rt *rapid.T) {
		m := newModel(t, rt, f)
		rt.Repeat(map[string]func(*rapid.T){"command": m.command, "": m.compareNowAndThen})
		m.compare(rt, m.everybody())
	})
}

// today is long after all that is told here.
var today = morning.AddDate(0, 1, 0)

// model is the floor as the lists know it. All is named by its place in its list, and all times
// are seconds from the morning; 0 is none.
type model struct {
	t        *testing.T
	f        *floor
	commands []command
	pieces   []modelPiece
	people   []string
	called   []string
	skilled  []bool
	stages   []modelStage
	entries  [][]worked // by person
	batches  []modelBatch
	outside  []modelOutside
	looks    []modelLook
	stations []modelStation
	placed   []modelPlace // by when they were written
	kept     []kept       // by devices
	reviews  []modelReview
	now      int
	stretch  int   // the last one
	touched  []int // the people whom commands were about since it was last compared
	given    int   // commands
}

type modelPiece struct {
	name  string
	parts []string
}

// whole is the part of a stage, or of what goes out, that is all of the piece; none is nobody, no
// batch, no stage or no station.
const whole, none = -1, -1

type modelStage struct {
	name     string
	kind     string
	piece    int
	part     int
	area     int64
	before   []int
	skilled  bool
	inspects bool
	finished int
	backs    []int
	has      []int // who has it, the assignee first
	batch    int   // the open one
}

func (s modelStage) pass() int32 { return int32(1 + len(s.backs)) }

func (s modelStage) passAt(second int) int32 {
	pass := int32(1)
	for _, b := range s.backs {
		if second >= b {
			pass++
		}
	}
	return pass
}

// worked is an entry that counts.
type worked struct {
	Who, Job   int
	Start, End int
	Pass       int32
	Paused     bool
	Batch      int
	From, To   int // of its stretch
	Station    int
	Sent       bool // by a device
	stretch    int
	name       string
}

func (m *model) stageNamed(name string) int {
	return slices.IndexFunc(m.stages, func(s modelStage) bool { return s.name == name })
}

// second is an instant as the service reads it, and the other way round; absent is 0.
func second(s int) *timestamppb.Timestamp {
	return &timestamppb.Timestamp{Seconds: morning.Unix() + int64(s)}
}

func secondOf(ts *timestamppb.Timestamp) int {
	if ts == nil {
		return 0
	}
	return int(ts.Seconds - morning.Unix())
}

// when is usually a few minutes later than all before, and now and then sooner.
func (m *model) when(rt *rapid.T) int {
	m.now += 60 * rapid.IntRange(1, 9).Draw(rt, "later")
	if rapid.IntRange(0, 9).Draw(rt, "sooner") == 9 {
		return max(60, m.now-60*rapid.IntRange(1, 30).Draw(rt, "by"))
	}
	return m.now
}

// pick draws one of n, and mostly one that fits, if any does.
func pick(rt *rapid.T, label string, n int, fits func(int) bool) int {
	var fit []int
	for i := range n {
		if fits(i) {
			fit = append(fit, i)
		}
	}
	if len(fit) > 0 && rapid.IntRange(0, 4).Draw(rt, label+" fits") < 4 {
		return rapid.SampledFrom(fit).Draw(rt, label)
	}
	return rapid.IntRange(0, n-1).Draw(rt, label)
}

// who draws a person, mostly one on the clock or one that is not.
func (m *model) who(rt *rapid.T, on bool) int {
	return m.about(pick(rt, "who", len(m.people), func(who int) bool { return (m.open(who) != nil) == on }))
}

// about notes that a command is about a person.
func (m *model) about(who int) int {
	m.touched = append(m.touched, who)
	return who
}

func (m *model) which(rt *rapid.T, fits func(int) bool) int {
	return pick(rt, "stage", len(m.stages), fits)
}

// agree checks that the service took a command if and only if the model does, and that it did not
// refuse it because of a fault of its own.
func (m *model) agree(rt *rapid.T, what string, want bool, err error) bool {
	if f := fault.Of(err); err != nil && (f == nil || f.Kind == fault.Internal) {
		rt.Fatalf("%s at second %d: %v", what, m.now, err)
	}
	if (err == nil) != want {
		rt.Fatalf("%s at second %d: the service says %v, the model takes it: %v", what, m.now, err, want)
	}
	return want
}
