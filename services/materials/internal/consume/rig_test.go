package consume_test

import (
	"context"
	"slices"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/boot"
	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/materials/internal/consume"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

var monday = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

// shop is a database with a varnish and a paint that are counted in litres, and the handler.
type shop struct {
	*pg.DB
	varnish, paint id.ID
	handler        consume.Handler
	changed        []id.ID
}

func open(t *testing.T) *shop {
	t.Helper()
	s := &shop{DB: pgtest.Open(t, "materials", store.Constraints, inbox.Migrations(), boot.Migrations(store.Migrations)), varnish: id.New(), paint: id.New()}
	s.handler.Changed = func(products []id.ID) { s.changed = append(s.changed, products...) }
	for product, name := range map[id.ID]string{s.varnish: "varnish", s.paint: "paint"} {
		s.write(t, `INSERT INTO product (id, display_name, name_key, unit, package_labels, package_contents, threshold, on_hand, value, low, version)
			VALUES ($1, $2, $2, 'L', '{}', '{}', 0, 0, 0, false, 1)`, product, name)
	}
	return s
}

func (s *shop) write(t *testing.T, sql string, args ...any) {
	t.Helper()
	err := s.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		_, err := tx.Exec(ctx, sql, args...)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// took writes down what went to a stage, or was wasted at it.
func (s *shop) took(t *testing.T, piece, stage, product id.ID, purpose, amount string) {
	t.Helper()
	s.write(t, `INSERT INTO piece (id, version) VALUES ($1, 1) ON CONFLICT DO NOTHING`, piece)
	s.write(t, `INSERT INTO entry (id, product_id, kind, purpose, at, quantity, piece_id, stage_id, stage_kind, pass, actor)
		VALUES ($1, $2, 'went out', $3, $4, $5::numeric, $6, $7, 'topcoat_coat', 1, 'Nell')`, id.New(), product, purpose, monday, amount, piece, stage)
}

// event makes an event of a piece as its producer would; its version counts minutes too.
func event(producer string, version int64, piece id.ID, payload *eventsv1.Envelope) inbox.Event {
	e := inbox.Event{Envelope: payload, ID: id.New(), Aggregate: piece, Piece: piece}
	e.EventId, e.Producer, e.Epoch, e.AggregateId, e.PieceId, e.Version = e.ID.String(), producer, "one", piece.String(), piece.String(), version
	at := timestamppb.New(monday.Add(time.Duration(version) * time.Hour))
	e.OccurredAt, e.RecordedAt = at, at
	return e
}

func (s *shop) apply(t *testing.T, events ...inbox.Event) error {
	t.Helper()
	return s.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		_, err := inbox.Apply(ctx, tx, s.handler, events)
		return err
	})
}

func (s *shop) must(t *testing.T, events ...inbox.Event) {
	t.Helper()
	if err := s.apply(t, events...); err != nil {
		t.Fatal(err)
	}
}

// needs reads those of a piece, by stage, product and pass.
func (s *shop) needs(t *testing.T, piece id.ID) (needs []materials.Need) {
	t.Helper()
	err := s.View(t.Context(), func(q pg.Querier) error {
		all, err := store.New(q).PieceNeeds(t.Context(), []id.ID{piece})
		for _, n := range all[piece].Needs {
			needs = append(needs, n)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	slices.SortFunc(needs, func(a, b materials.Need) int {
		return slices.Compare([]byte(a.Title+string(a.State)+string(a.Pass)), []byte(b.Title+string(b.State)+string(b.Pass)))
	})
	return needs
}

// told is needs in words.
func (s *shop) told(t *testing.T, piece id.ID) (words []string) {
	t.Helper()
	for _, n := range s.needs(t, piece) {
		words = append(words, n.Title+" "+string('0'+n.Pass)+" "+n.Quantity.String()+" "+string(n.State))
	}
	return words
}

// reserved is what open needs still reserve of a product.
func (s *shop) reserved(t *testing.T, product id.ID) (amounts []string) {
	t.Helper()
	err := s.View(t.Context(), func(q pg.Querier) error {
		needs, err := store.New(q).OpenNeeds(t.Context(), []id.ID{product})
		for _, n := range needs {
			amounts = append(amounts, n.Title+" "+n.Reserved.String())
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return amounts
}

// stage is one that a plan tells of; after are those before it.
func stage(key string, product id.ID, litres string, after ...*eventsv1.StagesPlanned_Stage) *eventsv1.StagesPlanned_Stage {
	s := &eventsv1.StagesPlanned_Stage{StageId: id.New().String(), PartId: id.New().String(), Kind: "topcoat_coat", Key: key, PartLabel: "top", AttendedMinutes: 60, UnattendedMinutes: 240}
	if product != id.Nil {
		s.ProductId, s.Amount, s.Method = product.String(), &typev1.Quantity{Value: litres, Unit: "L"}, "brush"
	}
	for _, b := range after {
		s.AfterStageIds = append(s.AfterStageIds, b.StageId)
	}
	return s
}

func ids(stages ...*eventsv1.StagesPlanned_Stage) (out []string) {
	for _, s := range stages {
		out = append(out, s.StageId)
	}
	return out
}

func of(s *eventsv1.StagesPlanned_Stage) id.ID {
	i, err := id.Parse(s.StageId)
	if err != nil {
		panic(err) // stage made it
	}
	return i
}

func approved(stages ...*eventsv1.StagesPlanned_Stage) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_FinishPlanApproved{FinishPlanApproved: &eventsv1.FinishPlanApproved{PlanVersion: 1, Stages: stages}}}
}

func amended(a *eventsv1.FinishPlanAmended) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_FinishPlanAmended{FinishPlanAmended: a}}
}

func finished(s *eventsv1.StagesPlanned_Stage, pass int32) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_StageFinished{StageFinished: &eventsv1.StageFinished{StageId: s.StageId, Kind: s.Kind, Pass: pass}}}
}

func sentBack(s *eventsv1.StagesPlanned_Stage, pass int32) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_StageSentBack{StageSentBack: &eventsv1.StageSentBack{StageId: s.StageId, Reason: "runs",
		Reopened: []*eventsv1.StageSentBack_Reopened{{StageId: s.StageId, Kind: s.Kind, Pass: pass}}}}}
}

func promised(until time.Time) *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PiecePromised{PiecePromised: &eventsv1.PiecePromised{PromiseTime: timestamppb.New(until)}}}
}

func scrapped() *eventsv1.Envelope {
	return &eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceScrapped{PieceScrapped: &eventsv1.PieceScrapped{}}}
}
