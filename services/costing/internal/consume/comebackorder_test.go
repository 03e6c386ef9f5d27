package consume_test

import (
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"

	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// drawComebacks makes what happens to a piece that comes back with a fault, once or twice: after it is told of, stages are planned, the
// fault is judged, somebody works, stages are finished and it is closed, each before and after the others.
func (h *hand) drawComebacks(t *rapid.T, tell func(*eventsv1.Envelope)) {
	for range rapid.SampledFrom([]int{0, 1, 1, 2}).Draw(t, "come-backs") {
		c := &comeback{id: id.New().String(), reported: timestamppb.New(begins.Add(time.Duration(rapid.IntRange(0, 9_000).Draw(t, "reported")) * time.Minute)), tell: tell}
		for range rapid.SampledFrom([]int{0, 1, 2, 2}).Draw(t, "stages that mend") {
			c.stages = append(c.stages, &eventsv1.StagesPlanned_Stage{StageId: id.New().String(), Kind: "sand", Key: "sand-fine", AttendedMinutes: 20})
		}
		tell(comebackOpened(c.id, c.reported, rapid.Bool().Draw(t, "warranty")))
		for _, what := range rapid.Permutation([]string{"planned", "judged", "judged", "work", "work", "finished", "finished", "sent back", "closed"}).Draw(t, "then") {
			if rapid.SampledFrom([]bool{true, true, true, false}).Draw(t, "happens") {
				c.draw(t, h, what)
			}
		}
	}
}

// Each event by itself leaves what all of them at once leave: what is known of the stages before is read for those of a come-back too. One
// stage is done, then what mends it is planned, so the piece is in work again; what is dropped of that is no more, and so it is finished.
func TestHandler_ComebackOneByOne(t *testing.T) {
	piece, comeback := id.New(), id.New().String()
	first, mend := &eventsv1.StagesPlanned_Stage{StageId: id.New().String(), Kind: "sand"}, &eventsv1.StagesPlanned_Stage{StageId: id.New().String(), Kind: "sand"}
	var all []inbox.Event
	for v, e := range []*eventsv1.Envelope{
		{Payload: &eventsv1.Envelope_StagesPlanned{StagesPlanned: &eventsv1.StagesPlanned{Stages: []*eventsv1.StagesPlanned_Stage{first}}}},
		{Payload: &eventsv1.Envelope_StageFinished{StageFinished: &eventsv1.StageFinished{StageId: first.StageId, Kind: first.Kind, Pass: 1}}},
		comebackOpened(comeback, timestamppb.New(begins), true), comebackPlanned(comeback, timestamppb.New(begins), nil, mend),
		comebackJudged(comeback, "hand"), comebackClosed(comeback, mend.StageId),
	} {
		all = append(all, event("workflow", piece, int64(v+1), piece, e))
	}
	together, apart := books(t), books(t)
	if err := apply(t, together, all...); err != nil {
		t.Fatal(err)
	}
	for _, e := range all {
		if err := apply(t, apart, e); err != nil {
			t.Fatal(err)
		}
	}
	if got, want := dump(t, apart), dump(t, together); got != want {
		t.Errorf("one by one the books are\n%s\nnot\n%s", got, want)
	}
	if marks := count(t, apart, "mark"); marks != 3 {
		t.Errorf("%d marks, want finished, in work again and finished", marks)
	}
}

// comeback is a piece that came back, and the stages that mend it.
type comeback struct {
	id       string
	reported *timestamppb.Timestamp
	stages   []*eventsv1.StagesPlanned_Stage
	tell     func(*eventsv1.Envelope)
}

func (c *comeback) draw(t *rapid.T, h *hand, what string) {
	switch what {
	case "planned":
		c.tell(comebackPlanned(c.id, c.reported, rapid.SampledFrom([][]string{nil, {"runs"}, {"runs", "runs", "dust"}}).Draw(t, "faults"), c.stages...))
	case "judged":
		c.tell(comebackJudged(c.id, rapid.SampledFrom([]string{"hand", "product", "unknown"}).Draw(t, "source")))
	case "closed":
		c.tell(comebackClosed(c.id, rapid.SampledFrom(append([][]string{nil}, c.ids()...)).Draw(t, "dropped")...))
	default:
		if len(c.stages) > 0 {
			c.on(t, h, rapid.SampledFrom(c.stages).Draw(t, "stage"), what)
		}
	}
}

// on is what happens at a stage that mends.
func (c *comeback) on(t *rapid.T, h *hand, s *eventsv1.StagesPlanned_Stage, what string) {
	switch what {
	case "work":
		worked := h.next(t)
		worked.StageId, worked.Pass = s.StageId, 2
		c.tell(running(worked))
		c.tell(clockedOff(worked))
		if rapid.Bool().Draw(t, "a slip") {
			c.tell(corrected(worked, nil))
		}
	case "finished":
		c.tell(&eventsv1.Envelope{Payload: &eventsv1.Envelope_StageFinished{StageFinished: &eventsv1.StageFinished{StageId: s.StageId, Kind: s.Kind, Pass: 2}}})
	case "sent back":
		c.tell(&eventsv1.Envelope{Payload: &eventsv1.Envelope_StageSentBack{StageSentBack: &eventsv1.StageSentBack{StageId: s.StageId,
			Reopened: []*eventsv1.StageSentBack_Reopened{{StageId: s.StageId, Kind: s.Kind, Pass: 3}}}}})
	}
}

// ids are the stages, each by itself.
func (c *comeback) ids() (out [][]string) {
	for _, s := range c.stages {
		out = append(out, []string{s.StageId})
	}
	return out
}

func comebackOpened(comeback string, reported *timestamppb.Timestamp, warranty bool) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ComebackOpened{ComebackOpened: &eventsv1.ComebackOpened{ComebackId: comeback, ReportTime: reported, Warranty: warranty}}}
}

func comebackPlanned(comeback string, reported *timestamppb.Timestamp, faults []string, stages ...*eventsv1.StagesPlanned_Stage) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ComebackPlanned{ComebackPlanned: &eventsv1.ComebackPlanned{ComebackId: comeback, ReportTime: reported, Faults: faults, Stages: stages}}}
}

func comebackJudged(comeback, source string) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ComebackJudged{ComebackJudged: &eventsv1.ComebackJudged{ComebackId: comeback, Source: source, Certainty: "likely"}}}
}

func comebackClosed(comeback string, dropped ...string) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_ComebackClosed{ComebackClosed: &eventsv1.ComebackClosed{ComebackId: comeback, Outcome: "mended", DroppedStageIds: dropped}}}
}
