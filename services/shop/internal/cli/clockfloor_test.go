package cli

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// withFronts has an open batch of the dresser's drawers and another's.
func withFronts(t *testing.T) *fake {
	t.Helper()
	f := withTwo(t)
	f.batches = []*workflowv1.Batch{
		{Name: "batches/3", DisplayName: "Fronts", State: workflowv1.Batch_STATE_FINISHED, Split: workflowv1.Batch_SPLIT_EQUAL},
		{Name: "batches/2", DisplayName: "fronts", State: workflowv1.Batch_STATE_OPEN, Split: workflowv1.Batch_SPLIT_AREA, StageKind: "topcoat_coat", ProductName: "Clear coat", CreateTime: middayPlus(0),
			Shares: []*workflowv1.Batch_Share{{StageTitle: "topcoat (drawers)", PieceTag: 1, Pass: 1, Weight: 3}, {StageTitle: "topcoat (fronts)", PieceTag: 2, Pass: 1, Weight: 1}}},
		{Name: "batches/1", DisplayName: "Fronts", State: workflowv1.Batch_STATE_DISSOLVED}}
	return f
}

// What somebody is on is a stage, a batch or what belongs to no piece: one of them. Of batches
// of one name it is the open one.
func TestClock_Targets(t *testing.T) {
	t.Parallel()
	f := withFronts(t)
	f.gives(t, line("clock on Nell --batch FRONTS --station booth --at '2026-03-02 12:00'"), &workflowv1.ClockOnRequest{Person: "people/n", Batch: "batches/2", Station: "stations/booth", StartTime: middayPlus(0)})
	f.gives(t, line("clock on Nell --batch 3"), &workflowv1.ClockOnRequest{Person: "people/n", Batch: "batches/3"})
	f.says(t, line("clock on Nell --batch fronts --at '2026-03-02 12:00'"), "Nell is on the clock at a batch of 2 stages since 2026-03-02 12:00:00 CST.\n")
	f.notices = []string{"Piece 2 was sold on Mon 2 Mar 2026 09:00 CST."}
	f.says(t, line("clock on Nell --batch fronts"), "Piece 2 was sold on Mon 2 Mar 2026 09:00 CST.\n")
	f.notices = nil
	f.gives(t, line("clock on Nell --indirect pick_up"), &workflowv1.ClockOnRequest{Person: "people/n", Indirect: "pick_up"})
	f.says(t, line("clock on Nell --indirect pick_up"), "Nell is on the clock at pick up since")
	for _, command := range []string{"on Nell", "switch Nell", "record Nell --start '2026-03-02 08:00' --end '2026-03-02 09:00' --reason x"} {
		f.refuses(t, line("clock "+command), "say the piece and its stage, or --batch, or --indirect")
		f.refuses(t, line("clock "+command+" 1"), "say the piece and its stage, or --batch, or --indirect")
		f.refuses(t, line("clock "+command+" 1 hardware-off --batch fronts"), "say either a piece and its stage")
		f.refuses(t, line("clock "+command+" --indirect cleaning --batch fronts"), "can't be used together")
		f.refuses(t, line("clock "+command+" --batch backs"), `no batch is called "backs"; open are: fronts`)
	}
}

func TestClock_SwitchPauseResume(t *testing.T) {
	t.Parallel()
	f := withFronts(t)
	f.gives(t, line("clock switch Nell 1 hardware-off --station booth --acknowledge dust --override 'it is only the edge' --at '2026-03-02 12:00'"),
		&workflowv1.SwitchClockRequest{Person: "people/n", Stage: "pieces/a/stages/1", Station: "stations/booth", SwitchTime: middayPlus(0), AcknowledgedCautions: []string{"dust"}, OverrideReason: "it is only the edge"})
	f.says(t, line("clock switch Nell --indirect cleaning --at '2026-03-02 12:00'"), "Nell is off after 0:00 at sand (case) of piece 1.\nNell is on the clock at cleaning since 2026-03-02 12:00:00 CST.\n")
	f.gives(t, line("clock switch Nell 1 hardware-off --finish"), &workflowv1.SwitchClockRequest{Person: "people/n", Stage: "pieces/a/stages/1", Finish: true})
	f.says(t, line("clock switch Nell 1 hardware-off --finish"), " at sand (case) of piece 1.\nsand (case) is finished.\nNell is on the clock at")
	f.gives(t, line("clock switch Nell --indirect 'Pick-up run'"), &workflowv1.SwitchClockRequest{Person: "people/n", Indirect: "pick_up_run"})
	f.gives(t, line("clock pause Nell --at '2026-03-02 12:00'"), &workflowv1.PauseClockRequest{Person: "people/n", PauseTime: middayPlus(0)})
	f.says(t, line("clock pause Nell"), "Nell is away after 1:30 at a batch of 2 stages.\n")
	f.gives(t, line("clock resume Nell --override 'a fan' --at '2026-03-02 12:00'"), &workflowv1.ResumeClockRequest{Person: "people/n", ResumeTime: middayPlus(0), OverrideReason: "a fan"})
	f.says(t, line("clock resume Nell"), "Nell is on the clock at sand (case) of piece 1")
}

// Who goes on to what comes after what they leave is told how.
func TestClock_SwitchSaysFinish(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.fails = fault.New(fault.Precondition, "STAGE_NOT_READY", "sand (case) has to wait: not finished before it: hardware-off.")
	const advice = "If that is what they leave and it is done, type the line again with --finish."
	for typed, want := range map[string]bool{"": true, " --finish": false} {
		if _, _, errs := f.run(t, line("clock switch Nell 1 'sand (case)'"+typed)...); !strings.Contains(errs, "hardware-off.") || strings.Contains(errs, advice) != want {
			t.Errorf("switch%s says %q", typed, errs)
		}
	}
}

func TestClock_RecordAndCorrect(t *testing.T) {
	t.Parallel()
	f := withFronts(t)
	f.gives(t, line("clock record Nell --batch fronts --start '2026-03-02 12:00' --end '2026-03-02 13:00' --reason forgot"),
		&workflowv1.RecordClockEntryRequest{Person: "people/n", Batch: "batches/2", StartTime: middayPlus(0), EndTime: middayPlus(60), Reason: "forgot"})
	f.gives(t, line("clock record Nell --indirect cleaning --start '2026-03-02 12:00' --end '2026-03-02 13:00' --reason forgot"),
		&workflowv1.RecordClockEntryRequest{Person: "people/n", Indirect: "cleaning", StartTime: middayPlus(0), EndTime: middayPlus(60), Reason: "forgot"})
	f.gives(t, line("clock correct 7 --indirect Pick-up --reason x"), &workflowv1.CorrectClockEntryRequest{ClockEntry: "clockEntries/7", Reason: "x",
		Replacement: &workflowv1.CorrectClockEntryRequest_Replacement{Indirect: "pick_up"}})
	f.gives(t, line("clock correct 7 --indirect cleaning --end '2026-03-02 13:00' --reason x"), &workflowv1.CorrectClockEntryRequest{ClockEntry: "clockEntries/7", Reason: "x",
		Replacement: &workflowv1.CorrectClockEntryRequest_Replacement{Indirect: "cleaning", EndTime: middayPlus(60)}})
	f.refuses(t, line("clock correct 7 --indirect cleaning --piece 1 --stage sand --reason x"), "can't be used together")
	f.refuses(t, line("clock correct 7 --indirect cleaning --take-away --reason x"), "can't be used together")
}

func TestClock_ListShowsWhatBelongsToNoPiece(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.entries = []*workflowv1.ClockEntry{{Name: "clockEntries/1", PersonName: "Nell", Indirect: "pick_up", StartTime: middayPlus(0), EndTime: middayPlus(30), Pass: 1, Paused: true},
		{Name: "clockEntries/2", PersonName: "Nell", Stage: "pieces/a/stages/2", PieceTag: 1, Batch: "batches/2", StartTime: middayPlus(30), EndTime: middayPlus(40), Pass: 1, Station: "stations/booth", Device: "tablet 2"}}
	f.says(t, line("clock list --from '2026-03-02 08:00' --to '2026-03-03 08:00'"), "Nell – pick up 2026-03-02 12:00:00 CST 2026-03-02 12:30:00 CST 0:30 1 paused\n", "1 sand (case)", "0:10 1 booth in a batch; kept by tablet 2\n")
}

func TestClock_Send(t *testing.T) {
	t.Parallel()
	f := withFronts(t)
	args := line("clock send Nell 1 'sand (case)' --start '2026-03-02 12:00' --end '2026-03-02 13:00' --device 'tablet 2' --device-time '2026-03-02 14:00' --acknowledge dust --station booth")
	f.gives(t, args, &workflowv1.SendClockEntryRequest{Person: "people/n", Stage: "pieces/a/stages/2", StartTime: middayPlus(0), EndTime: middayPlus(60), Device: "tablet 2", DeviceTime: middayPlus(120),
		AcknowledgedCautions: []string{"dust"}, Station: "stations/booth"})
	f.says(t, args, "Nell, 2026-03-02 12:00 to 2026-03-02 13:00, kept by tablet 2: it counts.\n")
	f.gives(t, line("clock send Nell --entry 9 --end '2026-03-02 13:00' --device phone --device-time '2026-03-02 14:00'"),
		&workflowv1.SendClockEntryRequest{Person: "people/n", ClockEntry: "clockEntries/9", EndTime: middayPlus(60), Device: "phone", DeviceTime: middayPlus(120)})
	f.says(t, line("clock send Nell --indirect training --start '2026-03-02 12:00' --device phone"), "the lead has to settle it: shop clock review settle 17")
	f.refuses(t, line("clock send Nell 1 hardware-off --start '2026-03-02 12:00'"), "say what kept the entry: --device")
	f.refuses(t, line("clock send --device phone"), "say whose entry it is, or --file")
	f.refuses(t, line("clock send Nell --device phone"), "say the piece and its stage")
}

// What the device's clock shows is said anew: it is no longer what it showed, and the entry is the
// same one all the same.
func TestClock_SendAgain(t *testing.T) {
	t.Parallel()
	f := withFronts(t)
	f.lost = context.DeadlineExceeded
	again := f.doubted(t, line("clock send Nell --indirect cleaning --start '2026-03-02 12:00' --device phone"), "the shop did not answer in time")
	f.healthy()
	f.says(t, again, "it counts")
	if diff := cmp.Diff(f.commands()[0], f.commands()[1], protocmp.Transform(), protocmp.IgnoreFields(&workflowv1.SendClockEntryRequest{}, "device_time")); diff != "" || slices.Contains(again, "--device-time") {
		t.Errorf("typed again as %v it is another request (-first +second):\n%s", again, diff)
	}
}

// Lines that are sent again, in whatever order, are the same entries.
func TestClock_SendFile(t *testing.T) {
	t.Parallel()
	f := withFronts(t)
	second := `{"who": "Ruth", "batch": "fronts", "start": "2026-03-02 12:00", "end": "2026-03-02 13:00", "device_time": "2026-03-02 14:01"}` + "\n"
	first := `{"who": "Nell", "piece": "1", "stage": "sand (case)", "start": "2026-03-02 12:00", "acknowledge": ["dust"], "device": "phone"}` + "\n"
	file := filepath.Join(t.TempDir(), "kept.jsonl")
	write := func(text string) {
		t.Helper()
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	send := []string{"clock", "send", "--file", file, "--device", "tablet 2", "--device-time", "2026-03-02 14:00"}
	write(second + "\n" + first)
	f.says(t, send, "Ruth, 2026-03-02 12:00 to 2026-03-02 13:00, kept by tablet 2: it counts.\nNell, 2026-03-02 12:00 to –, kept by phone: it counts.\n")
	write(first + second)
	f.says(t, send)
	got := f.commands()
	want := []*workflowv1.SendClockEntryRequest{
		{Person: "people/r", Batch: "batches/2", StartTime: middayPlus(0), EndTime: middayPlus(60), Device: "tablet 2", DeviceTime: middayPlus(121)},
		{Person: "people/n", Stage: "pieces/a/stages/2", StartTime: middayPlus(0), AcknowledgedCautions: []string{"dust"}, Device: "phone", DeviceTime: middayPlus(120)}}
	for i, w := range want {
		if diff := cmp.Diff(w, got[i], protocmp.Transform(), protocmp.IgnoreFields(w, "request_id")); diff != "" {
			t.Errorf("line %d gives (-want +got):\n%s", i+1, diff)
		}
		if diff := cmp.Diff(got[i], got[3-i], protocmp.Transform()); diff != "" {
			t.Errorf("sent again it is another request:\n%s", diff)
		}
	}
	for text, want := range map[string]string{
		`{"who": "Nell", "indirect": "cleaning", "begin": "8"}`: `kept.jsonl, line 1: json: unknown field "begin"`,
		`{"indirect": "cleaning"}`:                              "it does not say who",
	} {
		write(text)
		f.refuses(t, send, want)
	}
	write(strings.ReplaceAll(second, "14:01", "14:30") + first)
	f.says(t, append(send[:len(send)-1:len(send)-1], "2026-03-02 14:31"))
	for i, r := range f.commands()[4:] {
		if id := r.(*workflowv1.SendClockEntryRequest).RequestId; id != got[i].(*workflowv1.SendClockEntryRequest).RequestId {
			t.Errorf("line %d when the device's clock shows something else is another entry", i+1)
		}
	}
	write(first)
	f.refuses(t, []string{"clock", "send", "--file", file, "--device", "tablet 2"}, "it does not say device and device_time")
}

// What is wrong with a line is said at the end, and keeps no other line from being sent; a tag
// may be a number.
func TestClock_SendFile_EveryLine(t *testing.T) {
	t.Parallel()
	f := withFronts(t)
	file := filepath.Join(t.TempDir(), "kept.jsonl")
	text := `{"who": "Nell", "piece": 99, "stage": "sand (case)", "start": "2026-03-02 12:00"}
{"who": "Nell", "piece": 1, "stage": "sand (case)", "start": "2026-03-02 12:00", "end": "2026-03-02 13:00"}
{"who": "Nell", "piece": [1], "stage": "sand (case)"}
{"who": "Ruth", "indirect": "cleaning", "start": "2026-03-02 12:00", "end": "2026-03-02 13:00"}
`
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	code, out, errs := f.run(t, "clock", "send", "--file", file, "--device", "tablet 2", "--device-time", "2026-03-02 14:00")
	if code == 0 || strings.Count(out, "it counts") != 2 || len(f.commands()) != 2 || !strings.Contains(errs, "line 1: ") || !strings.Contains(errs, "line 3: ") {
		t.Errorf("it exits %d, prints %q and %q, and sends %d entries", code, out, errs, len(f.commands()))
	}
}

func TestClock_Reviews(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	f.reviews = []*workflowv1.ClockReview{{Name: "clockReviews/17", Kind: workflowv1.ClockReview_KIND_OVERLAP, PersonName: "Nell", Reason: "Nell was at sand then.", RaiseTime: middayPlus(0),
		Sent: &workflowv1.ClockEntry{StartTime: middayPlus(-60), EndTime: middayPlus(-30)}}}
	f.asksFor(t, line("clock review list --all --who Nell"), &workflowv1.ListClockReviewsRequest{IncludeSettled: true, Person: "people/n", PageSize: 1000})
	f.says(t, line("clock review list"), "17 overlap Nell 2026-03-02 12:00:00 CST 2026-03-02 11:00:00 CST 2026-03-02 11:30:00 CST Nell was at sand then. open\n")
	settle := func(text string, want *workflowv1.SettleClockReviewRequest) {
		t.Helper()
		want.ClockReview, want.Reason = "clockReviews/17", "x"
		f.gives(t, line("clock review settle 17 --reason x "+text), want)
	}
	settle("--ended '2026-03-02 12:00'", &workflowv1.SettleClockReviewRequest{Settlement: &workflowv1.SettleClockReviewRequest_ClockOff_{ClockOff: &workflowv1.SettleClockReviewRequest_ClockOff{EndTime: middayPlus(0)}}})
	settle("--accept", &workflowv1.SettleClockReviewRequest{Settlement: &workflowv1.SettleClockReviewRequest_Accept_{Accept: &workflowv1.SettleClockReviewRequest_Accept{}}})
	settle("--accept --start '2026-03-02 12:00' --end '2026-03-02 13:00' --cut-others", &workflowv1.SettleClockReviewRequest{
		Settlement: &workflowv1.SettleClockReviewRequest_Accept_{Accept: &workflowv1.SettleClockReviewRequest_Accept{StartTime: middayPlus(0), EndTime: middayPlus(60), CutOthers: true}}})
	settle("--accept --less-skew", &workflowv1.SettleClockReviewRequest{
		Settlement: &workflowv1.SettleClockReviewRequest_Accept_{Accept: &workflowv1.SettleClockReviewRequest_Accept{LessSkew: true}}})
	settle("--dismiss", &workflowv1.SettleClockReviewRequest{Settlement: &workflowv1.SettleClockReviewRequest_Dismiss_{Dismiss: &workflowv1.SettleClockReviewRequest_Dismiss{}}})
	f.refuses(t, line("clock review settle 17 --reason x"), "say how it is settled: --ended TIME, --accept or --dismiss")
	f.refuses(t, line("clock review settle 17 --reason x --dismiss --accept"), "can't be used together")
	f.refuses(t, line("clock review settle 17 --reason x --dismiss --end '2026-03-02 12:00'"), "belong to --accept")
	f.refuses(t, line("clock review settle 17 --reason x --dismiss --less-skew"), "belong to --accept")
	f.refuses(t, line("clock review settle 18 --reason x --dismiss"), "there is no 18 to settle")
	f.reviews[0].ShopStartTime, f.reviews[0].ShopEndTime = middayPlus(-50), middayPlus(-20)
	f.says(t, line("clock review list"), "11:30:00 CST 2026-03-02 11:10:00 CST to 2026-03-02 11:40:00 CST Nell was at sand then. open\n")
	f.reviews[0].SettleTime, f.reviews[0].Settlement, f.reviews[0].SettledBy, f.reviews[0].SettleReason = middayPlus(5), "dismissed", "Odile", "a test"
	f.says(t, line("clock review list --all"), "dismissed: a test (Odile)")
}
