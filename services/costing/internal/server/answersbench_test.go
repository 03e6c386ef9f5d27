package server_test

import (
	"fmt"
	"testing"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/id"
	costingv1 "tackfree/proto/tackfree/costing/v1"
)

// A ledger of a million lines: 10,000 pieces of 50 stretches each, by 20 people. Half of the pieces are
// sold; each fifth stretch is rework.
const million = `
	INSERT INTO costing.person (person_id, name, version) SELECT md5('who' || n)::uuid, 'Worker ' || n, 1 FROM generate_series(0, 19) AS n;
	INSERT INTO costing.pay_rate (id, person_id, effective_day, effective_at, per_hour, actor, recorded_at)
	SELECT md5('rate' || n)::uuid, md5('who' || n)::uuid, '2020-01-01', '2020-01-01', 2000, 'Ana', '2020-01-01' FROM generate_series(0, 19) AS n;
	INSERT INTO costing.stretch (event_id, sign, entry_id, piece_id, person_id, person_name, stage_id, stage_kind, stage_key, part_label, rework, started_at, ended_at, occurred_at, recorded_at)
	SELECT md5('event' || n)::uuid, 1, md5('entry' || n)::uuid, md5('piece' || n / 50)::uuid, md5('who' || n % 20)::uuid, 'Worker ' || n % 20, md5('stage' || n / 5)::uuid,
	       (ARRAY['sand', 'strip', 'paint_coat'])[1 + n / 5 % 3], 'sand-1', 'seat', n % 5 = 4, at, at + interval '1 hour', at + interval '1 hour', at + interval '1 hour'
	FROM (SELECT n, timestamptz '2021-01-04 12:00+00' + n * interval '5 minutes' AS at FROM generate_series(0, 499999) AS n) AS s;
	INSERT INTO costing.posting (tx_id, line, event_id, account, bucket, piece_id, person_id, stage_id, stage_kind, again, amount, occurred_at, recorded_at)
	SELECT event_id, side, event_id, CASE WHEN side = 2 THEN 'wages_payable' WHEN rework THEN 'rework' ELSE 'work_in_process' END,
	       CASE WHEN side = 2 THEN '' WHEN rework THEN 'rework' ELSE 'labour' END, piece_id, person_id, stage_id, stage_kind, rework, CASE side WHEN 1 THEN 2000 ELSE -2000 END, occurred_at, recorded_at
	FROM costing.stretch CROSS JOIN generate_series(1, 2) AS side;
	INSERT INTO costing.stage (stage_id, piece_id, kind, key, part_label, planned_ms, state, sent_back, done_at)
	SELECT md5('stage' || n)::uuid, md5('piece' || n / 10)::uuid, (ARRAY['sand', 'strip', 'paint_coat'])[1 + n % 3], 'sand-1', 'seat', 10800000, 'done', 1, timestamptz '2021-01-04 12:00+00' + n * interval '25 minutes'
	FROM generate_series(0, 99999) AS n;
	INSERT INTO costing.sent_back (event_id, stage_id, piece_id, stage_kind, because_of, occurred_at, recorded_at)
	SELECT md5('back' || n)::uuid, md5('stage' || n)::uuid, md5('piece' || n / 10)::uuid, (ARRAY['sand', 'strip', 'paint_coat'])[1 + n % 3], md5('stage' || n)::uuid, '2021-01-04', '2021-01-04' FROM generate_series(0, 99999) AS n;
	INSERT INTO costing.inspection (event_id, piece_id, sent_back, defects, recorded_at)
	SELECT md5('look' || n)::uuid, md5('piece' || n / 10)::uuid, md5('stage' || n)::uuid, '{runs,dust}', '2021-01-04' FROM generate_series(0, 99999) AS n;
	INSERT INTO costing.piece (piece_id, tag, title, commission, sales_state, scrapped, acquisition, labour, material, rework, fees, revenue, tax, labour_ms, rework_ms, running, revision, updated_at, kind, came_at, sold_at)
	SELECT md5('piece' || n)::uuid, n + 1, 'Stool', false, CASE n % 2 WHEN 0 THEN 'sold' ELSE 'listed' END, false, 0, 80000, 0, 20000, 0, CASE n % 2 WHEN 0 THEN 150000 ELSE 0 END, 0, 144000000, 36000000, 0, 1, now(),
	       (ARRAY['stool', 'table', 'chair', 'dresser'])[1 + n % 4], '2021-01-04', CASE n % 2 WHEN 0 THEN timestamptz '2021-01-05 12:00+00' + n * interval '250 minutes' END
	FROM generate_series(0, 9999) AS n;
	ANALYZE`

// BenchmarkServer_Answers asks a ledger of a million lines what an owner asks:
//
//	go test ./services/costing/internal/server -run '^$' -bench Answers -benchtime 20x
func BenchmarkServer_Answers(b *testing.B) {
	o := setup(b)
	o.exec(b, million)
	ctx := b.Context()
	var piece string
	list, err := o.costing.ListPieceCosts(ctx, &costingv1.ListPieceCostsRequest{PageSize: 1})
	if err != nil {
		b.Fatal(err)
	}
	piece = list.PieceCosts[0].Piece
	for _, ask := range []struct {
		what string
		call func() (proto.Message, error)
	}{
		{"GetPieceCost", func() (proto.Message, error) {
			return o.costing.GetPieceCost(ctx, &costingv1.GetPieceCostRequest{Piece: piece})
		}},
		{"ListCostLines", func() (proto.Message, error) {
			return o.answers.ListCostLines(ctx, &costingv1.ListCostLinesRequest{Piece: piece, All: true})
		}},
		{"ListCostLinesOfEvent", func() (proto.Message, error) {
			return o.answers.ListCostLines(ctx, &costingv1.ListCostLinesRequest{EventId: id.New().String()})
		}},
		{"ListJournal", func() (proto.Message, error) {
			return o.answers.ListJournal(ctx, &costingv1.ListJournalRequest{FromDate: dayIn(2023, 3)})
		}},
		{"ListPlanActualsOfPiece", func() (proto.Message, error) {
			return o.answers.ListPlanActuals(ctx, &costingv1.ListPlanActualsRequest{Piece: piece, By: costingv1.ListPlanActualsRequest_BY_STAGE})
		}},
		{"ListPlanActualsOfMonth", func() (proto.Message, error) {
			return o.answers.ListPlanActuals(ctx, &costingv1.ListPlanActualsRequest{By: costingv1.ListPlanActualsRequest_BY_STAGE_KIND, FromDate: dayIn(2023, 3), ToDate: dayIn(2023, 4)})
		}},
		{"ListPlanActualsOfAll", func() (proto.Message, error) {
			return o.answers.ListPlanActuals(ctx, &costingv1.ListPlanActualsRequest{By: costingv1.ListPlanActualsRequest_BY_STAGE_KIND})
		}},
		{"ListEarnings", func() (proto.Message, error) {
			return o.answers.ListEarnings(ctx, &costingv1.ListEarningsRequest{By: costingv1.ListEarningsRequest_BY_KIND})
		}},
		{"ListEarningsByWorkers", func() (proto.Message, error) {
			return o.answers.ListEarnings(ctx, &costingv1.ListEarningsRequest{By: costingv1.ListEarningsRequest_BY_WORKERS})
		}},
		{"ListWorkInProcess", func() (proto.Message, error) {
			return o.answers.ListWorkInProcess(ctx, &costingv1.ListWorkInProcessRequest{})
		}},
		{"GetCashTiedUp", func() (proto.Message, error) { return o.answers.GetCashTiedUp(ctx, &costingv1.GetCashTiedUpRequest{}) }},
		{"ListReworkOfQuarter", func() (proto.Message, error) {
			return o.answers.ListRework(ctx, &costingv1.ListReworkRequest{By: costingv1.ListReworkRequest_BY_DEFECT, FromDate: dayIn(2023, 1), ToDate: dayIn(2023, 4)})
		}},
		{"ListReworkOfAll", func() (proto.Message, error) {
			return o.answers.ListRework(ctx, &costingv1.ListReworkRequest{By: costingv1.ListReworkRequest_BY_DEFECT})
		}},
	} {
		b.Run(ask.what, func(b *testing.B) {
			for b.Loop() {
				if m, err := ask.call(); err != nil {
					b.Fatal(fmt.Sprint(m), err)
				}
			}
		})
	}
}

// dayIn is the first day of a month.
func dayIn(year, month int32) *date.Date { return &date.Date{Year: year, Month: month, Day: 1} }
