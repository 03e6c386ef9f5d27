package outbox

import (
	"context"
	"errors"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/emptypb"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func TestLog_AppendWritesTheEnvelope(t *testing.T) {
	b := setup(t)
	e := taken(dresser, 1)
	e.OccurredAt = noon.Add(-3600e9)
	if err := b.append(t.Context(), e); err != nil {
		t.Fatal(err)
	}
	var body []byte
	var eventID, kind string
	b.scan(t, "SELECT event_id::text, type, body FROM event", &eventID, &kind, &body)
	got := &eventsv1.Envelope{}
	if err := proto.Unmarshal(body, got); err != nil {
		t.Fatal(err)
	}
	want := &eventsv1.Envelope{
		EventId: eventID, Producer: "intake", Epoch: b.log.epoch, AggregateKind: "piece", AggregateId: dresser.String(),
		Version: 1, PieceId: dresser.String(), OccurredAt: timestamppb.New(e.OccurredAt), RecordedAt: timestamppb.New(noon),
		Actor: "Nell", RequestId: "r-1", TraceParent: "tp", TraceState: "ts",
		Payload: &eventsv1.Envelope_PieceTakenIn{PieceTakenIn: &eventsv1.PieceTakenIn{Tag: 1}},
	}
	if diff := cmp.Diff(want, got, protocmp.Transform()); diff != "" || kind != "piece_taken_in" {
		t.Errorf("type %s, envelope (-want +got):\n%s", kind, diff)
	}
}

func TestLog_AppendGoesWithItsTransaction(t *testing.T) {
	b := setup(t)
	boom := errors.New("refused")
	err := b.db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
		if err := b.log.Append(ctx, tx, taken(dresser, 1), noon); err != nil {
			return err
		}
		var n int // brings the put-off insert to the database before the refusal
		if err := tx.QueryRow(ctx, `SELECT count(*) FROM event`).Scan(&n); err != nil || n != 1 {
			t.Errorf("inside its transaction: %d events, %v; want 1", n, err)
		}
		return boom
	})
	if !errors.Is(err, boom) || b.count(t, "true") != 0 {
		t.Errorf("after a rollback: %d events, %v; want none", b.count(t, "true"), err)
	}
	select {
	case <-b.log.kick:
		t.Error("the relay was woken for an event that is not there")
	default:
	}
	b.write(t, dresser, 1, 1)
	select {
	case <-b.log.kick:
	default:
		t.Error("the relay was not woken after the commit")
	}
}

func TestLog_AppendRefusesVersionsThatAreNotDense(t *testing.T) {
	for name, version := range map[string]int64{"Twice": 2, "Hole": 4, "Zero": 0, "Negative": -1} {
		t.Run(name, func(t *testing.T) {
			b := setup(t)
			b.write(t, dresser, 1, 2)
			if err := b.append(t.Context(), taken(dresser, version)); err == nil {
				t.Errorf("version %d after 2 was written", version)
			}
			if n := b.count(t, "true"); n != 2 {
				t.Errorf("%d events, want 2", n)
			}
		})
	}
	t.Run("FirstIsNotOne", func(t *testing.T) {
		b := setup(t)
		if err := b.append(t.Context(), taken(dresser, 2)); err == nil {
			t.Error("version 2 was written before version 1")
		}
	})
	t.Run("SeveralInOneCommand", func(t *testing.T) {
		b := setup(t)
		if err := b.append(t.Context(), taken(dresser, 1), taken(dresser, 2), taken(table, 1), taken(dresser, 3)); err != nil {
			t.Errorf("dense versions of one command: %v", err)
		}
	})
}

// An event that the broker would never take is refused with its command, not kept to
// hold up those behind it.
func TestLog_AppendRefusesWhatIsTooLarge(t *testing.T) {
	b := setup(t)
	e := taken(dresser, 1)
	e.Payload = &eventsv1.PieceTakenIn{Title: strings.Repeat("oak ", largest/4)}
	err := b.append(t.Context(), e)
	if f := fault.Of(err); f == nil || f.Kind != fault.Invalid || f.Reason != "EVENT_TOO_LARGE" || b.count(t, "true") != 0 {
		t.Errorf("Append = %v with %d events, want EVENT_TOO_LARGE and none", err, b.count(t, "true"))
	}
	e.Payload = &eventsv1.PieceTakenIn{Title: strings.Repeat("oak ", largest/4-100)}
	if err := b.append(t.Context(), e); err != nil {
		t.Errorf("Append of just less = %v", err)
	}
}

func TestLog_AppendPanicsOnWhatIsNoPayload(t *testing.T) {
	b := setup(t)
	defer func() {
		if recover() == nil {
			t.Error("an empty message passed for an event")
		}
	}()
	e := taken(dresser, 1)
	e.Payload = &emptypb.Empty{}
	_ = b.append(t.Context(), e)
}

// Two copies that start for the first time at once agree on the epoch, also when one has
// to wait for the other's commit.
func TestOpen_CopiesAgreeOnTheEpoch(t *testing.T) {
	b := setup(t)
	b.scan(t, "WITH gone AS (DELETE FROM producer RETURNING 1) SELECT count(*) FROM gone", new(int))
	winner := id.New()
	inserted, commit := make(chan struct{}), make(chan struct{})
	var done sync.WaitGroup
	done.Go(func() {
		err := b.db.InTx(t.Context(), func(ctx context.Context, tx *pg.Tx) error {
			err := tx.QueryRow(ctx, `INSERT INTO producer (epoch) VALUES ($1) RETURNING epoch`, winner).Scan(new(id.ID))
			close(inserted)
			<-commit
			return err
		})
		if err != nil {
			t.Error(err)
		}
	})
	<-inserted
	for range 3 {
		done.Go(func() {
			log, err := Open(t.Context(), b.db, "intake")
			if err != nil {
				t.Errorf("Open: %v", err)
			} else if log.epoch != winner.String() {
				t.Errorf("epoch = %s, want %s", log.epoch, winner)
			}
		})
	}
	eventually(t, "the losers wait for the winner", func() bool {
		var waiting int
		b.scan(t, "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'", &waiting)
		return waiting >= 3
	})
	close(commit)
	done.Wait()
}
