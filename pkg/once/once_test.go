package once_test

import (
	"context"
	"errors"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/pgtest"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

// The commands of these tests take pieces in; a tag is given only once.
var pieces = pg.Migrations{Name: "pieces", Files: fstest.MapFS{"00001_piece.sql": {Data: []byte(`-- +goose Up
CREATE TABLE piece (id uuid PRIMARY KEY, tag int NOT NULL CONSTRAINT tag_once UNIQUE);
CREATE TABLE opening (closed boolean NOT NULL);
INSERT INTO opening VALUES (false);`)}}}

var (
	tagTaken = fault.New(fault.Exists, "TAG_TAKEN", "Another piece has this tag.")
	closed   = fault.New(fault.Precondition, "SHOP_CLOSED", "The shop takes no pieces in today.")
	now      = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)
)

type shop struct{ *pg.DB }

func open(t *testing.T) *shop {
	return &shop{pgtest.Open(t, "intake", pg.Constraints{"tag_once": tagTaken}, once.Migrations(), pieces)}
}

func by(t *testing.T, actor string) context.Context {
	return caller.With(t.Context(), caller.Caller{Actor: actor})
}

// take is the command: it reads whether the shop is open, and writes a piece.
func (s *shop) take(ctx context.Context, r *intakev1.TakeInPieceRequest) (*intakev1.TakeInPieceResponse, error) {
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*intakev1.TakeInPieceResponse, error) {
		var shut bool
		if err := tx.QueryRow(ctx, `SELECT closed FROM opening`).Scan(&shut); err != nil {
			return nil, err
		}
		if shut {
			return nil, closed
		}
		piece := id.New()
		_, err := tx.Exec(ctx, `INSERT INTO piece (id, tag) VALUES ($1, $2)`, piece, r.Tag)
		return &intakev1.TakeInPieceResponse{Piece: &intakev1.Piece{Name: id.Name("pieces", piece), Tag: r.Tag}}, err
	})
}

func (s *shop) exec(t *testing.T, sql string, args ...any) {
	t.Helper()
	err := s.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		_, err := tx.Exec(ctx, sql, args...)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

func (s *shop) count(t *testing.T, table string) (n int) {
	t.Helper()
	err := s.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), "SELECT count(*) FROM "+table).Scan(&n)
	})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func request(tag int32) *intakev1.TakeInPieceRequest {
	return &intakev1.TakeInPieceRequest{RequestId: id.New().String(), Title: "Oak chair", Tag: tag}
}

func TestDo_AskedAgain(t *testing.T) {
	s := open(t)
	r := request(1)
	first, err := s.take(by(t, "Nell"), r)
	if err != nil {
		t.Fatal(err)
	}
	again, err := s.take(by(t, "Nell"), r)
	if diff := cmp.Diff(first, again, protocmp.Transform()); err != nil || diff != "" {
		t.Errorf("the second answer differs: %v\n%s", err, diff)
	}
	if n := s.count(t, "piece"); n != 1 {
		t.Errorf("%d pieces, want 1", n)
	}
	r.RequestId = strings.ToUpper(r.RequestId) // the same UUID
	again, err = s.take(by(t, "Nell"), r)
	if diff := cmp.Diff(first, again, protocmp.Transform()); err != nil || diff != "" {
		t.Errorf("the same id in capitals: %v\n%s", err, diff)
	}
}

func TestDo_ManyAtOnce(t *testing.T) {
	s := open(t)
	r := request(1)
	answers := make([]*intakev1.TakeInPieceResponse, 32)
	var done sync.WaitGroup
	for i := range answers {
		done.Go(func() {
			var err error
			if answers[i], err = s.take(by(t, "Nell"), r); err != nil {
				t.Errorf("asking %d: %v", i, err)
			}
		})
	}
	done.Wait()
	for i, a := range answers {
		if diff := cmp.Diff(answers[0], a, protocmp.Transform()); diff != "" {
			t.Fatalf("answer %d differs from the first:\n%s", i, diff)
		}
	}
	if n := s.count(t, "piece"); n != 1 {
		t.Errorf("%d pieces, want 1", n)
	}
}

func TestDo_AnotherBody(t *testing.T) {
	s := open(t)
	r := request(1)
	if _, err := s.take(by(t, "Nell"), r); err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]func(*intakev1.TakeInPieceRequest){
		"Done":    func(r *intakev1.TakeInPieceRequest) { r.Tag = 2 },
		"Refused": func(r *intakev1.TakeInPieceRequest) { r.Title = "Pine chair" }, // its tag is taken: but it is not even looked at
	} {
		other := request(1)
		other.RequestId = r.RequestId
		change(other)
		_, err := s.take(by(t, "Nell"), other)
		if f := fault.Of(err); f == nil || f.Reason != "REQUEST_ID_REUSED" || f.Kind != fault.Invalid || f.Fields[0].Path != "request_id" {
			t.Errorf("%s: %v, want REQUEST_ID_REUSED at request_id", name, err)
		}
	}
	// Another kind of command is another body, too.
	scrap := &intakev1.ScrapPieceRequest{RequestId: r.RequestId}
	_, err := once.Do(by(t, "Nell"), s.DB, scrap, now, func(context.Context, *pg.Tx) (*intakev1.ScrapPieceResponse, error) {
		return &intakev1.ScrapPieceResponse{}, nil
	})
	if !fault.Is(err, "REQUEST_ID_REUSED") {
		t.Errorf("another command: %v, want REQUEST_ID_REUSED", err)
	}
	if n := s.count(t, "piece"); n != 1 {
		t.Errorf("%d pieces, want 1", n)
	}
}

func TestDo_RefusedLeavesNoAnswer(t *testing.T) {
	s := open(t)
	s.exec(t, `UPDATE opening SET closed = true`)
	r := request(1)
	if _, err := s.take(by(t, "Nell"), r); !fault.Is(err, "SHOP_CLOSED") {
		t.Errorf("take = %v, want SHOP_CLOSED", err)
	}
	if n := s.count(t, "request"); n != 0 {
		t.Errorf("%d answers kept of a refusal", n)
	}
	s.exec(t, `UPDATE opening SET closed = false`)
	if _, err := s.take(by(t, "Nell"), r); err != nil {
		t.Errorf("the same command, now that it can be done: %v", err)
	}
}

// A refusal that shows only at the commit is one, too.
func TestDo_RefusedByAConstraint(t *testing.T) {
	s := open(t)
	if _, err := s.take(by(t, "Nell"), request(1)); err != nil {
		t.Fatal(err)
	}
	if _, err := s.take(by(t, "Nell"), request(1)); !fault.Is(err, "TAG_TAKEN") {
		t.Errorf("take = %v, want TAG_TAKEN", err)
	}
	if n := s.count(t, "request"); n != 1 {
		t.Errorf("%d answers, want the first command's", n)
	}
}

func TestDo_DoneThenForbidden(t *testing.T) {
	s := open(t)
	r := request(1)
	first, err := s.take(by(t, "Nell"), r)
	if err != nil {
		t.Fatal(err)
	}
	s.exec(t, `UPDATE opening SET closed = true`)
	again, err := s.take(by(t, "Nell"), r)
	if diff := cmp.Diff(first, again, protocmp.Transform()); err != nil || diff != "" {
		t.Errorf("asked again after closing: %v\n%s", err, diff)
	}
}

func TestDo_AnotherActor(t *testing.T) {
	s := open(t)
	r := request(1)
	if _, err := s.take(by(t, "Nell"), r); err != nil {
		t.Fatal(err)
	}
	r.Tag = 2
	if _, err := s.take(by(t, "Sam"), r); err != nil {
		t.Errorf("another person's command with that id: %v", err)
	}
	if n := s.count(t, "piece"); n != 2 {
		t.Errorf("%d pieces, want 2", n)
	}
}

// The link breaks before the caller hears of the commit: asking again tells.
func TestDo_AnswerLost(t *testing.T) {
	s := open(t)
	r := request(1)
	ctx, cancel := context.WithCancel(by(t, "Nell"))
	_, err := once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*intakev1.TakeInPieceResponse, error) {
		tx.After(cancel)
		_, err := tx.Exec(ctx, `INSERT INTO piece (id, tag) VALUES ($1, 1)`, id.New())
		return &intakev1.TakeInPieceResponse{Piece: &intakev1.Piece{Tag: 1}}, err
	})
	if err != nil || !errors.Is(ctx.Err(), context.Canceled) {
		t.Fatalf("Do = %v", err)
	}
	again, err := s.take(by(t, "Nell"), r)
	if err != nil || again.Piece.Tag != 1 || again.Piece.Name != "" || s.count(t, "piece") != 1 {
		t.Errorf("asked again: %v, %v, %d pieces; want the first answer and one piece", again, err, s.count(t, "piece"))
	}
}

func TestPurge(t *testing.T) {
	s := open(t)
	old, young := request(1), request(2)
	for _, r := range []*intakev1.TakeInPieceRequest{old, young} {
		if _, err := s.take(by(t, "Nell"), r); err != nil {
			t.Fatal(err)
		}
	}
	s.exec(t, `UPDATE request SET created_at = $1 WHERE request_id = $2`, now.Add(-once.Keep-time.Second), old.RequestId)
	if err := once.Purge(t.Context(), s.DB, now); err != nil {
		t.Fatal(err)
	}
	if _, err := s.take(by(t, "Nell"), young); err != nil {
		t.Errorf("a young answer was forgotten: %v", err)
	}
	if _, err := s.take(by(t, "Nell"), old); !fault.Is(err, "TAG_TAKEN") {
		t.Errorf("an old answer was kept: %v, want TAG_TAKEN", err)
	}
}
