package server_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func promising(piece string, until *timestamppb.Timestamp, value *money.Money) *workflowv1.PromisePieceRequest {
	return &workflowv1.PromisePieceRequest{RequestId: svctest.NewID(), Piece: piece, PromiseTime: until, Value: value}
}

func dollars(n int64) *money.Money { return &money.Money{CurrencyCode: "USD", Units: n} }

func (f *floor) promise(t testing.TB, piece string, until *timestamppb.Timestamp, value *money.Money) {
	t.Helper()
	if _, err := f.stages.PromisePiece(svctest.Ctx(t), promising(piece, until, value)); err != nil {
		t.Fatal(err)
	}
}

// A piece is promised for Saturday before anybody plans its stages; later for nobody.
func TestServer_PromisePiece(t *testing.T) {
	t.Parallel()
	f := setup(t)
	p := f.intake.add("top")
	saturday := timestamppb.New(time.Date(2036, 3, 7, 15, 0, 0, 0, time.UTC))
	f.promise(t, p.Name, saturday, dollars(850))
	e := f.Last(t)
	if diff := cmp.Diff(&eventsv1.PiecePromised{PromiseTime: saturday, Value: dollars(850)}, e.GetPiecePromised(), protocmp.Transform()); diff != "" {
		t.Errorf("event (-want +got):\n%s", diff)
	}
	if e.Version != 1 || e.AggregateKind != "piece" || "pieces/"+e.PieceId != p.Name {
		t.Errorf("event is version %d of %s %s", e.Version, e.AggregateKind, e.PieceId)
	}
	f.promise(t, p.Name, nil, nil)
	if diff := cmp.Diff(&eventsv1.PiecePromised{}, f.Last(t).GetPiecePromised(), protocmp.Transform()); diff != "" || f.Last(t).Version != 2 {
		t.Errorf("event of a promise to nobody, version %d (-want +got):\n%s", f.Last(t).Version, diff)
	}
}

// Of a promise only what is said is changed, if the rest is to be kept.
func TestServer_PromisePiece_Keeps(t *testing.T) {
	t.Parallel()
	f := setup(t)
	p := f.intake.add("top")
	saturday, sunday := timestamppb.New(time.Date(2036, 3, 7, 15, 0, 0, 0, time.UTC)), timestamppb.New(time.Date(2036, 3, 8, 15, 0, 0, 0, time.UTC))
	for i, c := range []struct {
		until *timestamppb.Timestamp
		value *money.Money
		keep  bool
		want  *eventsv1.PiecePromised
	}{
		{nil, dollars(850), true, &eventsv1.PiecePromised{Value: dollars(850)}},
		{saturday, nil, true, &eventsv1.PiecePromised{PromiseTime: saturday, Value: dollars(850)}},
		{nil, dollars(0), true, &eventsv1.PiecePromised{PromiseTime: saturday, Value: dollars(0)}},
		{sunday, nil, true, &eventsv1.PiecePromised{PromiseTime: sunday, Value: dollars(0)}},
		{saturday, nil, false, &eventsv1.PiecePromised{PromiseTime: saturday}},
		{nil, nil, true, &eventsv1.PiecePromised{PromiseTime: saturday}},
		{nil, nil, false, &eventsv1.PiecePromised{}},
	} {
		r := promising(p.Name, c.until, c.value)
		r.KeepUnsaid = c.keep
		resp, err := f.stages.PromisePiece(svctest.Ctx(t), r)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(c.want, f.Last(t).GetPiecePromised(), protocmp.Transform()); diff != "" {
			t.Errorf("event %d (-want +got):\n%s", i, diff)
		}
		if diff := cmp.Diff(&workflowv1.PromisePieceResponse{PromiseTime: c.want.PromiseTime, Value: c.want.Value}, resp, protocmp.Transform()); diff != "" {
			t.Errorf("answer %d (-want +got):\n%s", i, diff)
		}
	}
}

func TestServer_PromisePiece_Refuses(t *testing.T) {
	t.Parallel()
	f := setup(t)
	p := f.intake.add("top")
	refused := func(r *workflowv1.PromisePieceRequest, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, f.Service, f.stages.PromisePiece, r, kind, reason)
	}
	refused(promising(id.Name("pieces", id.New()), at(0), nil), fault.NotFound, "PIECE_NOT_FOUND")
	refused(promising(p.Name, at(0), &money.Money{CurrencyCode: "EUR", Units: 10}), fault.Invalid, "CURRENCY_NOT_THE_SHOPS")
	refused(promising(p.Name, at(0), dollars(-1)), fault.Invalid, "AMOUNT_NEGATIVE")
	refused(promising(p.Name, timestamppb.New(time.Date(1999, 1, 1, 0, 0, 0, 0, time.UTC)), nil), fault.Invalid, "TIME_TOO_OLD")
	refused(promising(p.Name, &timestamppb.Timestamp{Nanos: -1}, nil), fault.Invalid, "TIME_MALFORMED")
	p.State = intakev1.Piece_STATE_SCRAPPED
	refused(promising(p.Name, at(0), nil), fault.Precondition, "PIECE_SCRAPPED")
}
