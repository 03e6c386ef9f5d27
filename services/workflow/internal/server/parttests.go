package server

import (
	"context"
	"slices"
	"strings"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// RecordMoisture implements PartTestService.
func (s *Server) RecordMoisture(ctx context.Context, r *workflowv1.RecordMoistureRequest) (*workflowv1.RecordMoistureResponse, error) {
	word, err := optionalZone(r.Zone)
	if err != nil {
		return nil, err
	}
	return recordTest(ctx, s, r, func(ctx context.Context, st store.Store, t *workflow.PartTest) (*workflowv1.RecordMoistureResponse, error) {
		zone, err := st.TestZone(ctx, word, t.Piece, t.Part)
		if err != nil {
			return nil, err
		}
		air, err := st.LastAir(ctx, zone, t.At)
		if err != nil {
			return nil, err
		}
		if err := t.Moisture(r.Percent, air); err != nil {
			return nil, err
		}
		return &workflowv1.RecordMoistureResponse{Test: encodeTest(*t)}, endDrying(ctx, st, *t, s.Shop.Now())
	})
}

// endDrying ends what was measured as dry; the keeper of the clocks tells of it.
func endDrying(ctx context.Context, st store.Store, t workflow.PartTest, now time.Time) error {
	clocks, err := st.DryClocksOf(ctx, t.Piece)
	if err != nil {
		return err
	}
	for _, c := range t.Ends(clocks) {
		if err := st.SaveDryClock(ctx, c, now); err != nil {
			return err
		}
	}
	return nil
}

// RecordSpotTest implements PartTestService.
func (s *Server) RecordSpotTest(ctx context.Context, r *workflowv1.RecordSpotTestRequest) (*workflowv1.RecordSpotTestResponse, error) {
	return recordTest(ctx, s, r, func(ctx context.Context, st store.Store, t *workflow.PartTest) (*workflowv1.RecordSpotTestResponse, error) {
		before, err := st.PartTests(ctx, t.Piece)
		if err != nil {
			return nil, err
		}
		slices.Reverse(before)
		before = slices.DeleteFunc(before, func(b workflow.PartTest) bool { return b.Kind != workflow.SpotTest || b.Part != t.Part })
		reading, err := t.Spot(r.Solvent, r.Reaction, before)
		if err != nil {
			return nil, err
		}
		return &workflowv1.RecordSpotTestResponse{Test: encodeTest(*t), OldFinishes: familyWords(reading.Families), Waxed: reading.Waxed,
			NextSolvent: string(reading.Next), Why: reading.Why}, nil
	})
}

// RecordLeadTest implements PartTestService.
func (s *Server) RecordLeadTest(ctx context.Context, r *workflowv1.RecordLeadTestRequest) (*workflowv1.RecordLeadTestResponse, error) {
	return recordTest(ctx, s, r, func(ctx context.Context, st store.Store, t *workflow.PartTest) (*workflowv1.RecordLeadTestResponse, error) {
		if err := judgeLead(ctx, st, r.Lead, t); err != nil {
			return nil, err
		}
		return &workflowv1.RecordLeadTestResponse{Test: encodeTest(*t)}, nil
	})
}

// judgeLead writes a result down; controls and a person are those of an acceptance.
func judgeLead(ctx context.Context, st store.Store, m *workflowv1.Lead, t *workflow.PartTest) error {
	if m.Result != workflowv1.Lead_RESULT_ACCEPTED_WITH_CONTROLS {
		t.Lead(m.Result == workflowv1.Lead_RESULT_FOUND)
		return nil
	}
	by, err := readPerson(ctx, st, m.Person)
	if f := fault.Of(err); f != nil {
		return f.At("lead.person")
	}
	if err != nil {
		return err
	}
	return t.Accept(by, strings.TrimSpace(m.Controls))
}

// testCommand is a command that records a test.
type testCommand interface {
	once.Command
	GetPiece() string
	GetPart() string
	GetTestTime() *timestamppb.Timestamp
}

// recordTest has a test judged on the locked piece, and saves it.
func recordTest[R proto.Message](ctx context.Context, s *Server, r testCommand, judge func(context.Context, store.Store, *workflow.PartTest) (R, error)) (none R, err error) {
	now := s.Shop.Now()
	at, err := s.Shop.Instant("test_time", r.GetTestTime())
	if err != nil {
		return none, err
	}
	piece, err := id.One("piece", r.GetPiece(), "pieces")
	if err != nil {
		return none, err
	}
	told, t, intakeErr := s.partOf(ctx, r) // asked before the transaction, judged inside; see PlanStages
	t.ID, t.Piece, t.At, t.Actor = id.New(), piece, at, caller.Of(ctx).Actor
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (none R, err error) {
		if intakeErr != nil {
			return none, intakeErr
		}
		st, t := store.New(tx), t
		floor, err := st.LockNewPiece(ctx, piece, told.Tag, told.TakenInTime.AsTime())
		if err != nil {
			return none, err
		}
		answer, err := judge(ctx, st, &t)
		if err != nil {
			return none, err
		}
		return answer, s.saveTest(ctx, tx, floor, t, now)
	})
}

func (s *Server) saveTest(ctx context.Context, tx *pg.Tx, piece workflow.Piece, t workflow.PartTest, now time.Time) error {
	st := store.New(tx)
	if err := st.InsertPartTest(ctx, t); err != nil {
		return err
	}
	piece.Version++
	if err := st.UpdatePiece(ctx, piece); err != nil {
		return err
	}
	if t.Dry {
		tx.After(s.Wake)
	}
	return s.note(ctx, tx, piece, t.At, now, partTested(t))
}

// partOf asks intake for the piece and finds the part in it, or with no part the whole piece.
// Faults: PIECE_NOT_FOUND, PART_UNKNOWN.
func (s *Server) partOf(ctx context.Context, r testCommand) (told *intakev1.Piece, t workflow.PartTest, err error) {
	resp, err := s.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: r.GetPiece()})
	if err != nil || r.GetPart() == "" {
		return resp.GetPiece(), t, atPiece(err)
	}
	i := slices.IndexFunc(resp.Piece.Parts, func(p *intakev1.Part) bool { return p.Name == r.GetPart() })
	if i < 0 {
		return nil, t, fault.New(fault.Invalid, "PART_UNKNOWN", "Piece %d has no part %q; name one of its own, or none for the whole piece.", resp.Piece.Tag, r.GetPart()).At("part")
	}
	ids, err := id.FromName("part", r.GetPart(), "pieces", "parts")
	if err != nil {
		return nil, t, err
	}
	t.Part, t.PartLabel = ids[1], resp.Piece.Parts[i].Label
	return resp.Piece, t, nil
}

// ListPartTests implements PartTestService.
func (s *Server) ListPartTests(ctx context.Context, r *workflowv1.ListPartTestsRequest) (*workflowv1.ListPartTestsResponse, error) {
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	var tests []workflow.PartTest
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		tests, err = store.New(q).PartTests(ctx, piece)
		return err
	})
	if err == nil && len(tests) == 0 { // none yet, or no piece at all
		_, err = s.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: r.Piece})
	}
	if err != nil {
		return nil, atPiece(err)
	}
	out := &workflowv1.ListPartTestsResponse{}
	for _, t := range tests {
		out.Tests = append(out.Tests, encodeTest(t))
	}
	out.SpotReadings, err = spotReadings(piece, tests)
	return out, err
}

func spotReadings(piece id.ID, tests []workflow.PartTest) (out []*workflowv1.SpotReading, err error) {
	readings, err := workflow.ReadSpots(tests)
	for _, r := range readings {
		m := &workflowv1.SpotReading{PartLabel: r.PartLabel, OldFinishes: familyWords(r.Families), Waxed: r.Waxed, NextSolvent: string(r.Next), Why: r.Why}
		if r.Part != id.Nil {
			m.Part = id.Name("pieces", piece, "parts", r.Part)
		}
		out = append(out, m)
	}
	return out, err
}

func familyWords(families []finish.Family) (words []string) {
	for _, f := range families {
		words = append(words, string(f))
	}
	return words
}
