package cli

import (
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// withTwo has Nell and Ruth, and something to do next.
func withTwo(t *testing.T) *fake {
	t.Helper()
	f := withBooth(t)
	f.people = append(f.people, &workflowv1.Person{Name: "people/r", DisplayName: "Ruth"})
	f.next = []*workflowv1.NextStage{{Stage: &workflowv1.Stage{Key: "sand", PartLabel: "case", Kind: "sand", AttendedMinutes: 40, Station: "bench"}, PieceTag: 1,
		PromiseTime: middayPlus(0), Value: usd(640_00), Why: "promised for Monday"}}
	return f
}

// asksFor checks what a list was last asked for.
func (f *fake) asksFor(t *testing.T, args []string, want proto.Message) {
	t.Helper()
	f.says(t, args)
	if diff := cmp.Diff(want, f.asks[len(f.asks)-1], protocmp.Transform()); diff != "" {
		t.Errorf("shop %v asks for (-want +got):\n%s", args, diff)
	}
}

func TestStage_Beside(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	f.gives(t, line("stage assign 1 'sand (case)' Ruth --beside"), &workflowv1.AssignStageRequest{Stage: "pieces/a/stages/2", Person: "people/r", Beside: true})
	f.refuses(t, line("stage assign 1 hardware-off --nobody --beside"), "--beside and --nobody can't be used together")
	f.stages[0].AssigneeName, f.stages[0].HelperNames = "Nell", []string{"Ruth"}
	f.stages[0].Skill, f.stages[0].SkillLevel = "spray", 2
	f.says(t, line("stage list 1"), "Nell, Ruth 1 spray:2 ")
}

func TestStage_HandOver(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	f.gives(t, line("stage hand-over 1 'sand (case)' Nell ruth --clock-on --note 'the left side is done' --acknowledge dust,lead --at '2026-03-02 12:00'"),
		&workflowv1.HandOverStageRequest{Stage: "pieces/a/stages/2", From: "people/n", To: "people/r", HandOverTime: middayPlus(0), Note: "the left side is done", ClockOn: true,
			AcknowledgedCautions: []string{"dust", "lead"}})
	f.says(t, line("stage hand-over 1 'sand (case)' Nell Ruth"), "sand (case)")
	f.says(t, line("stage hand-over 1 'sand (case)' Nell Ruth"), "Ruth is away today.\n")
	f.refuses(t, line("stage hand-over 1 'sand (case)' Nell Odile"), `nobody called "Odile"`)
}

func TestStage_NextAndClaim(t *testing.T) {
	t.Parallel()
	f := withTwo(t)
	f.asksFor(t, line("stage next Nell --station booth --most 9"), &workflowv1.ListNextStagesRequest{Person: "people/n", Station: "stations/booth", PageSize: 9})
	f.says(t, line("stage next Nell"), "1 sand (case) sand 40 bench 2026-03-02 12:00:00 CST 640.00 promised for Monday\n… and 3 more (--most shows up to 50)\n2 stages ask for the skill spray.\n")
	f.gives(t, line("stage claim Nell"), &workflowv1.ClaimStageRequest{Person: "people/n"})
	f.gives(t, line("stage claim Nell 1 'sand (drawers)' --station 'the booth'"), &workflowv1.ClaimStageRequest{Person: "people/n", Stage: "pieces/a/stages/3", Station: "stations/booth"})
	f.says(t, line("stage claim Nell"), "promised for Monday")
	f.refuses(t, line("stage claim Nell 1"), "say which stage of the piece they want")
}

func TestPiece_Promise(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("piece promise 1 --by '2026-03-02 12:00' --value 640"), &workflowv1.PromisePieceRequest{Piece: "pieces/a", PromiseTime: middayPlus(0), Value: usd(640_00), KeepUnsaid: true})
	f.gives(t, line("piece promise 1 --by 2026-03-07"), &workflowv1.PromisePieceRequest{Piece: "pieces/a", PromiseTime: lastOfSaturday, KeepUnsaid: true}) // nobody works then
	f.gives(t, line("piece promise 1 --value 640"), &workflowv1.PromisePieceRequest{Piece: "pieces/a", Value: usd(640_00), KeepUnsaid: true})
	f.says(t, line("piece promise 1 --value 640"), "Piece 1: promised for 2026-03-02 13:00:00 CST, worth 640.00.\n") // as it was promised
	f.gives(t, line("piece promise 1 --none"), &workflowv1.PromisePieceRequest{Piece: "pieces/a"})
	f.refuses(t, line("piece promise 1 --by soon"), "is not a time")
	f.refuses(t, line("piece promise 1"), "say --by or --value or both, or else --none")
	f.refuses(t, line("piece promise 1 --none --value 3"), "say --by or --value or both, or else --none")
}

// lastOfSaturday is the last second of 7 March in Chicago.
var lastOfSaturday = timestamppb.New(time.Date(2026, 3, 8, 5, 59, 59, 0, time.UTC))
