package server_test

import (
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// march is an instant of March 2026, in UTC.
func march(day, hour, minute int) time.Time {
	return time.Date(2026, 3, day, hour, minute, 0, 0, time.UTC)
}

// told writes an event of a piece into a producer's log, as of an instant. It is recorded after the pay
// rates, in the order of the instants.
func (o *office) told(producer string, piece id.ID, at time.Time, e *eventsv1.Envelope) {
	o.tells(producer, piece, piece, at, e)
}

func (o *office) tells(producer string, aggregate, piece id.ID, at time.Time, e *eventsv1.Envelope) {
	e.OccurredAt, e.RecordedAt = timestamppb.New(at), timestamppb.New(at.AddDate(0, 1, 0))
	o.from[producer].add(aggregate, piece, e)
}

// job is a stage of a piece.
type job struct {
	piece, id id.ID
	kind      string
}

// worker is somebody who works.
type worker struct {
	id   id.ID
	name string
}

// bench is a shop with pieces in every state. Nell costs 20.00 an hour, Ola 30.00, and of Rae nobody knows.
//
//	tag  piece   cost                                              so
//	7    stool   10.00 + 1.5 h of Nell + 0.5 h of Ola + 5.00       sold on the 10th for 150.00, fee 15.00
//	             + rework: 1 h of Nell + 3.00
//	8    chair   1 h of Ola + 5 min of Nell, a client's            invoiced on the 12th, 60.00
//	9    table   25.00 + 2 h of Nell                               in hand, one of three stages done
//	10   shelf   12.00 + 1 h of Nell                               finished
//	11   bench   8.00 + 1 h of Rae                                 sold on the 15th, 40.00
//	12   box     3.00                                              given up
type bench struct {
	*office
	nell, ola, rae                          worker
	stool, chair, table, shelf, bench, box  id.ID
	sanding, painting, oiling, tabling, off job
}

// now is the hour at which the bench is looked at.
func now() time.Time { return march(20, 15, 0) }

func setupBench(t *testing.T) *bench {
	t.Helper()
	o := setupAt(t, now)
	b := &bench{office: o, nell: worker{o.nell, "Nell"}, ola: worker{id.New(), "Ola"}, rae: worker{id.New(), "Rae"}}
	for _, w := range []worker{b.ola, b.rae} {
		o.from["workflow"].people[id.Name("people", w.id)] = true
	}
	b.rate(t, b.nell, 20_00)
	b.rate(t, b.ola, 30_00)
	b.story()
	b.cost(t, b.stool, func(c *costingv1.PieceCost) bool {
		return cents(c.Sums.Cost) == 83_00 && cents(c.Sums.Revenue) == 150_00
	})
	b.cost(t, b.chair, func(c *costingv1.PieceCost) bool {
		return cents(c.Sums.Cost) == 31_67 && cents(c.Sums.Revenue) == 60_00
	})
	b.cost(t, b.table, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Cost) == 65_00 && c.Kind == "table" })
	b.cost(t, b.shelf, func(c *costingv1.PieceCost) bool { return cents(c.Sums.Cost) == 32_00 })
	b.cost(t, b.bench, func(c *costingv1.PieceCost) bool {
		return cents(c.Sums.Cost) == 8_00 && cents(c.Sums.Revenue) == 40_00 && c.Sums.LabourTime.AsDuration() == time.Hour
	})
	b.cost(t, b.box, func(c *costingv1.PieceCost) bool {
		return c.State == costingv1.PieceCost_STATE_SCRAPPED && cents(c.Sums.Cost) == 3_00
	})
	return b
}

func (b *bench) rate(t *testing.T, w worker, perHour int64) {
	t.Helper()
	r := rateOf(w.id, perHour, dayOf(1, 1))
	if _, err := b.rates.SetPayRate(svctest.Ctx(t), r); err != nil {
		t.Fatal(err)
	}
}

func (b *bench) story() {
	b.stool = b.bought(7, "Stool", "stool", "church sale", 10_00, march(2, 13, 0))
	b.sanding, b.painting = job{b.stool, id.New(), "sand"}, job{b.stool, id.New(), "paint_coat"}
	b.planned("paint", march(2, 13, 30), 60, b.sanding, 30, b.painting)
	b.worked(b.nell, b.sanding, 1, march(2, 14, 0), 90)
	b.finished(b.sanding, 1, march(2, 16, 0))
	b.issued(b.painting, 1, 5_00, march(3, 13, 0))
	b.worked(b.ola, b.painting, 1, march(3, 14, 0), 30)
	b.finished(b.painting, 1, march(3, 15, 0))
	b.sentBack(b.painting, march(4, 14, 0), "runs", "dust")
	b.worked(b.nell, b.painting, 2, march(4, 15, 0), 60)
	b.issued(b.painting, 2, 3_00, march(4, 15, 0))
	b.finished(b.painting, 2, march(4, 17, 0))
	b.listedAndSold(b.stool, "market", march(10, 15, 0), 150_00, 15_00)

	b.chair = b.commissioned(8, "Chair", "chair", "the Moreaus", march(3, 13, 0))
	b.oiling = job{b.chair, id.New(), "topcoat_coat"}
	b.approved("clear", march(3, 13, 30), 60, b.oiling)
	b.worked(b.ola, b.oiling, 1, march(11, 14, 0), 60)
	b.worked(b.nell, b.oiling, 1, march(11, 15, 0), 5)
	b.listedAndSold(b.chair, "", march(12, 15, 0), 60_00, 0)

	b.table = b.bought(9, "Table", "table", "auction", 25_00, march(4, 13, 0))
	b.tabling = job{b.table, id.New(), "strip"}
	b.planned("paint", march(4, 14, 0), 120, b.tabling, 30, job{b.table, id.New(), "sand"}, 30, job{b.table, id.New(), "paint_coat"})
	b.worked(b.nell, b.tabling, 1, march(5, 14, 0), 120)
	b.finished(b.tabling, 1, march(5, 17, 0))

	b.shelf = b.bought(10, "Shelf", "shelf", "church sale", 12_00, march(5, 13, 0))
	b.off = job{b.shelf, id.New(), "sand"}
	b.planned("sand only", march(5, 14, 0), 45, b.off)
	b.worked(b.nell, b.off, 1, march(6, 14, 0), 60)
	b.finished(b.off, 1, march(6, 16, 0))

	b.bench = b.bought(11, "Bench", "stool", "", 8_00, march(9, 13, 0))
	b.worked(b.rae, job{b.bench, id.New(), "sand"}, 1, march(14, 14, 0), 60)
	b.listedAndSold(b.bench, "market", march(15, 15, 0), 40_00, 0)

	b.box = b.bought(12, "Box", "box", "kerb", 3_00, march(9, 14, 0))
	b.told("intake", b.box, march(9, 15, 0), &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceScrapped{PieceScrapped: &eventsv1.PieceScrapped{}}})
}

func (b *bench) bought(tag int32, title, kind, source string, price int64, at time.Time) id.ID {
	piece := id.New()
	b.told("intake", piece, at, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{Tag: tag, Title: title, Kind: kind,
		Origin: &eventsv1.PieceTakenIn_Purchase_{Purchase: &eventsv1.PieceTakenIn_Purchase{Price: usd(price), Source: source}}}}})
	return piece
}

func (b *bench) commissioned(tag int32, title, kind, client string, at time.Time) id.ID {
	piece := id.New()
	b.told("intake", piece, at, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{Tag: tag, Title: title, Kind: kind,
		Origin: &eventsv1.PieceTakenIn_Commission_{Commission: &eventsv1.PieceTakenIn_Commission{Client: client}}}}})
	return piece
}

// stagesOf reads minutes and jobs by turns.
func stagesOf(plan []any) (stages []*eventsv1.StagesPlanned_Stage, piece id.ID) {
	for i := 0; i < len(plan); i += 2 {
		j := plan[i+1].(job)
		piece = j.piece
		stages = append(stages, &eventsv1.StagesPlanned_Stage{StageId: j.id.String(), Kind: j.kind, Key: j.kind + "-1", PartLabel: "seat", AttendedMinutes: int32(plan[i].(int))})
	}
	return stages, piece
}

func (b *bench) planned(route string, at time.Time, plan ...any) {
	stages, piece := stagesOf(plan)
	b.told("workflow", piece, at, &eventsv1.Envelope{Payload: &eventsv1.Envelope_StagesPlanned{StagesPlanned: &eventsv1.StagesPlanned{Stages: stages, Route: route}}})
}

func (b *bench) approved(look string, at time.Time, plan ...any) {
	stages, piece := stagesOf(plan)
	b.told("workflow", piece, at, &eventsv1.Envelope{Payload: &eventsv1.Envelope_FinishPlanApproved{FinishPlanApproved: &eventsv1.FinishPlanApproved{Stages: stages, Look: look}}})
}

func (b *bench) worked(w worker, on job, pass int32, from time.Time, minutes int) {
	end := from.Add(time.Duration(minutes) * time.Minute)
	b.told("workflow", on.piece, end, &eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOff{ClockedOff: &eventsv1.ClockedOff{Span: &eventsv1.ClockSpan{
		EntryId: id.New().String(), PersonId: w.id.String(), PersonName: w.name, StageId: on.id.String(), StageKind: on.kind, StageKey: on.kind + "-1", PartLabel: "seat", Pass: pass,
		Start: timestamppb.New(from), End: timestamppb.New(end)}}}})
}

func (b *bench) finished(j job, pass int32, at time.Time) {
	b.told("workflow", j.piece, at, &eventsv1.Envelope{Payload: &eventsv1.Envelope_StageFinished{StageFinished: &eventsv1.StageFinished{StageId: j.id.String(), Kind: j.kind, Pass: pass}}})
}

// sentBack tells that an inspection sent a stage back for what it found; for nothing, that somebody did.
func (b *bench) sentBack(j job, at time.Time, defects ...string) {
	b.told("workflow", j.piece, at, &eventsv1.Envelope{Payload: &eventsv1.Envelope_StageSentBack{StageSentBack: &eventsv1.StageSentBack{StageId: j.id.String(), Reason: "look at it",
		Reopened: []*eventsv1.StageSentBack_Reopened{{StageId: j.id.String(), Kind: j.kind, Pass: 2}}}}})
	if len(defects) == 0 {
		return
	}
	found := &eventsv1.StageInspected{StageId: j.id.String(), BackToStageId: j.id.String()}
	for _, d := range defects {
		found.Defects = append(found.Defects, &eventsv1.StageInspected_Defect{Kind: d})
	}
	b.told("workflow", j.piece, at, &eventsv1.Envelope{Payload: &eventsv1.Envelope_StageInspected{StageInspected: found}})
}

func (b *bench) issued(j job, pass int32, cost int64, at time.Time) {
	b.tells("materials", id.New(), j.piece, at, &eventsv1.Envelope{Payload: &eventsv1.Envelope_MaterialIssued{MaterialIssued: &eventsv1.MaterialIssued{
		StageId: j.id.String(), StageKind: j.kind, Pass: pass, Cost: usd(cost)}}})
}

func (b *bench) listedAndSold(piece id.ID, channel string, at time.Time, price, fee int64) {
	b.told("sales", piece, at, &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceSold{PieceSold: &eventsv1.PieceSold{Price: usd(price), Fee: usd(fee), Channel: channel}}})
}
