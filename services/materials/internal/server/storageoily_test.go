package server_test

import (
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// execute runs SQL on the service's own tables.
func execute(t *testing.T, b *bundle, sql string, args ...any) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), b.URL)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = conn.Close(t.Context()) }()
	if _, err := conn.Exec(t.Context(), sql, args...); err != nil {
		t.Fatal(err)
	}
}

// oiled notes that Rosa oiled the piece until an hour of Monday 2 March, UTC.
func (b *storing) oiled(t *testing.T, hour int) {
	t.Helper()
	piece, stage := stageOf(b.bundle)
	b.exec(t, `INSERT INTO materials.oily_work (day, stage_id, person, known_by, entry_id, pass, piece_id, stage_kind, at)
		VALUES ('2026-03-02', $1, 'Rosa', 'clock', '00000000-0000-0000-0000-000000000000', 1, $2, 'oil_coat', $3) ON CONFLICT (day, stage_id, person, known_by, entry_id) DO UPDATE SET at = excluded.at`, stage, piece, time.Date(2026, 3, 2, hour, 0, 0, 0, time.UTC))
}

func confirmedAt(hour int) *materialsv1.ConfirmOilyWasteRequest {
	return &materialsv1.ConfirmOilyWasteRequest{RequestId: svctest.NewID(), Way: materialsv1.OilyWasteWay_OILY_WASTE_WAY_METAL_CAN, Note: "in the yard",
		ConfirmTime: timestamppb.New(time.Date(2026, 3, 2, hour, 0, 0, 0, time.UTC))}
}

func (b *storing) oilyOn(t *testing.T, day int32) *materialsv1.GetOilyWasteResponse {
	t.Helper()
	got, err := b.GetOilyWaste(t.Context(), &materialsv1.GetOilyWasteRequest{Date: &date.Date{Year: 2026, Month: 3, Day: day}})
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// Rags of until three are open until somebody put them away after three; a word at noon was of
// others.
func TestServer_OilyWaste(t *testing.T) {
	b := store(t)
	b.oiled(t, 15)
	if _, err := b.ConfirmOilyWaste(svctest.Ctx(t), confirmedAt(12)); err != nil {
		t.Fatal(err)
	}
	got := b.oilyOn(t, 2)
	if !got.Open || len(got.Work) != 1 || !got.Work[0].Open || got.Work[0].Stage != b.stage || got.Work[0].Person != "Rosa" || len(got.Checks) != 1 {
		t.Errorf("after noon's word = %v, want it open", got)
	}
	if due := got.DueTime.AsTime(); !due.Equal(time.Date(2026, 3, 2, 23, 0, 0, 0, time.UTC)) {
		t.Errorf("due = %v, want six in the evening in New York, where the shop is", due)
	}
	resp, err := b.ConfirmOilyWaste(svctest.Ctx(t), confirmedAt(16))
	if err != nil {
		t.Fatal(err)
	}
	e := b.Last(t)
	same(t, "event", &eventsv1.OilyWasteConfirmed{CheckId: bare(resp.Check.Name), Way: "metal can with water", Note: "in the yard"}, e.GetOilyWasteConfirmed())
	if e.Version != 1 || e.AggregateId != bare(resp.Check.Name) || resp.Check.Actor != svctest.Actor {
		t.Errorf("event = %v of %v, want who confirmed it", e, resp.Check)
	}
	if got = b.oilyOn(t, 2); got.Open || got.DueTime != nil || len(got.Checks) != 2 || !strings.Contains(got.Caution, "out of the building") {
		t.Errorf("after four's word = %v, want it put away", got)
	}
	b.oiled(t, 17)
	if got = b.oilyOn(t, 2); !got.Open {
		t.Errorf("after more work = %v, want it open again", got)
	}
	if got = b.oilyOn(t, 3); got.Open || len(got.Work)+len(got.Checks) != 0 {
		t.Errorf("the next day = %v, want nothing of its own", got)
	}
}

// The word was a mistake: what it closed is open again, and that it was given stays to be read.
func TestServer_WithdrawOilyWasteCheck(t *testing.T) {
	b := store(t)
	b.oiled(t, 15)
	word := must[*materialsv1.ConfirmOilyWasteResponse](t)(b.ConfirmOilyWaste(svctest.Ctx(t), confirmedAt(16))).Check
	r := &materialsv1.WithdrawOilyWasteCheckRequest{RequestId: svctest.NewID(), Name: word.Name, Reason: " one can was  forgotten"}
	back := must[*materialsv1.WithdrawOilyWasteCheckResponse](t)(b.WithdrawOilyWasteCheck(svctest.Ctx(t), r)).Check
	if back.WithdrawTime == nil || back.WithdrawReason != "one can was forgotten" || back.WithdrawnBy != svctest.Actor || back.Way != word.Way {
		t.Errorf("withdrawn = %v, want the word with who took it back and why", back)
	}
	e := b.Last(t)
	same(t, "event", &eventsv1.OilyWasteCheckWithdrawn{CheckId: bare(word.Name), Reason: "one can was forgotten"}, e.GetOilyWasteCheckWithdrawn())
	if e.Version != 2 || e.AggregateId != bare(word.Name) {
		t.Errorf("event = %v, want the second of the word", e)
	}
	got := b.oilyOn(t, 2)
	if !got.Open || !got.Work[0].Open || len(got.Checks) != 1 {
		t.Errorf("afterwards = %v, want it open", got)
	}
	same(t, "the word", back, got.Checks[0])
	again := &materialsv1.WithdrawOilyWasteCheckRequest{RequestId: svctest.NewID(), Name: word.Name, Reason: "twice"}
	refusedAt(t, svctest.Refused(t, b.Service, b.WithdrawOilyWasteCheck, again, fault.Precondition, "OILY_WASTE_CHECK_WITHDRAWN"), "name")
	again.Name = "oilyWasteChecks/" + svctest.NewID()
	refusedAt(t, svctest.Refused(t, b.Service, b.WithdrawOilyWasteCheck, again, fault.NotFound, "OILY_WASTE_CHECK_NOT_FOUND"), "name")
	again.Reason = " "
	again.Name = must[*materialsv1.ConfirmOilyWasteResponse](t)(b.ConfirmOilyWaste(svctest.Ctx(t), confirmedAt(17))).Check.Name
	refusedAt(t, svctest.Refused(t, b.Service, b.WithdrawOilyWasteCheck, again, fault.Invalid, "REASON_REQUIRED"), "reason")
	b.dense(t)
}

// Oil that is issued is asked after though nobody clocks on, and so is what the shop spilt; what
// was the wrong can is not.
func TestServer_OilyWaste_OfWhatWasIssued(t *testing.T) {
	b := store(t)
	oil := b.described(t, "Danish oil", &typev1.ProductDetails{Cautions: []string{"oily-rags"}})
	paint := b.described(t, "Paint", nil)
	b.comes(t, oil)
	b.comes(t, paint)
	b.takes(t, paint, "1", newYork(t, 2, 9))
	if got := b.oilyOn(t, 2); len(got.Work) != 0 {
		t.Errorf("after paint = %v, want nothing", got)
	}
	wrong := b.takes(t, oil, "1", newYork(t, 2, 10))
	got := b.oilyOn(t, 2)
	if len(got.Work) != 1 || got.Work[0].Stage != b.stage || got.Work[0].Person != svctest.Actor || !got.Open || !got.Work[0].LastTime.AsTime().Equal(newYork(t, 2, 10).AsTime()) {
		t.Errorf("after oil = %v, want the stage, of who issued it", got)
	}
	must[*materialsv1.TakeBackIssueResponse](t)(b.TakeBackIssue(svctest.Ctx(t), &materialsv1.TakeBackIssueRequest{RequestId: svctest.NewID(), Issue: wrong.Name, Reason: "wrong can", TakeBackTime: newYork(t, 2, 11)}))
	if got = b.oilyOn(t, 2); len(got.Work) != 0 {
		t.Errorf("the wrong can = %v, want nothing", got)
	}
	b.wastes(t, oil, "0.5", materialsv1.WasteCause_WASTE_CAUSE_SPILT, newYork(t, 2, 12))
	if got = b.oilyOn(t, 2); len(got.Work) != 1 || got.Work[0].Stage != "" || !got.Work[0].Open {
		t.Errorf("spilt = %v, want it of no stage", got)
	}
}

func TestServer_ConfirmOilyWaste_Again(t *testing.T) {
	b := store(t)
	r := confirmedAt(16)
	first, err := b.ConfirmOilyWaste(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	again, err := b.ConfirmOilyWaste(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	same(t, "again", first, again)
	if n := len(b.Events(t)); n != 1 {
		t.Errorf("%d events, want one", n)
	}
}

func TestServer_OilyWaste_Refuses(t *testing.T) {
	b := store(t)
	ahead := confirmedAt(16)
	ahead.ConfirmTime = timestamppb.New(time.Now().Add(time.Hour))
	refusedAt(t, svctest.Refused(t, b.Service, b.ConfirmOilyWaste, ahead, fault.Invalid, "TIME_IN_FUTURE"), "confirm_time")
	how := confirmedAt(16)
	how.Way = 0
	refusedAt(t, svctest.Refused(t, b.Service, b.ConfirmOilyWaste, how, fault.Invalid, "INVALID_FIELD"), "way")
	if _, err := b.GetOilyWaste(t.Context(), &materialsv1.GetOilyWasteRequest{Date: &date.Date{Year: 2026, Month: 2, Day: 30}}); !fault.Is(err, "DATE_MALFORMED") {
		t.Errorf("30 February = %v, want DATE_MALFORMED", err)
	}
}
