package cli

import (
	"context"
	"testing"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

var noon = &timestamppb.Timestamp{Seconds: 1772474400} // 2026-03-02 12:00 in Chicago

func (f *fake) RecordLeadTest(_ context.Context, r *workflowv1.RecordLeadTestRequest) (*workflowv1.RecordLeadTestResponse, error) {
	lead := &workflowv1.Lead{Result: r.Lead.Result, Controls: r.Lead.Controls, Person: r.Lead.Person, PersonName: "Nell"}
	return note(f, r, &workflowv1.RecordLeadTestResponse{Test: &workflowv1.PartTest{Part: r.Part, TestTime: noon, Actor: "Odile", Result: &workflowv1.PartTest_Lead{Lead: lead}}})
}

func (f *fake) RecordMoisture(_ context.Context, r *workflowv1.RecordMoistureRequest) (*workflowv1.RecordMoistureResponse, error) {
	m := &workflowv1.Moisture{Percent: r.Percent, EquilibriumPercent: 9.21, Dry: r.Percent < 11}
	return note(f, r, &workflowv1.RecordMoistureResponse{Test: &workflowv1.PartTest{Part: r.Part, PartLabel: "case", TestTime: noon, Result: &workflowv1.PartTest_Moisture{Moisture: m}}})
}

func (f *fake) RecordSpotTest(_ context.Context, r *workflowv1.RecordSpotTestRequest) (*workflowv1.RecordSpotTestResponse, error) {
	return note(f, r, &workflowv1.RecordSpotTestResponse{OldFinishes: []string{"nitrocellulose lacquer", "shellac"}, Waxed: true, NextSolvent: "lacquer thinner", Why: "it turns white"})
}

func (f *fake) ListPartTests(context.Context, *workflowv1.ListPartTestsRequest) (*workflowv1.ListPartTestsResponse, error) {
	return &workflowv1.ListPartTestsResponse{Tests: []*workflowv1.PartTest{
		{TestTime: noon, Actor: "Odile", Result: &workflowv1.PartTest_Lead{Lead: &workflowv1.Lead{Result: workflowv1.Lead_RESULT_FREE}}},
		{TestTime: noon, Actor: "Nell", PartLabel: "case", Result: &workflowv1.PartTest_Spot{Spot: &workflowv1.Spot{Solvent: "mineral spirits", Reaction: "none"}}},
		{TestTime: noon, Actor: "Nell", PartLabel: "case", Result: &workflowv1.PartTest_Moisture{Moisture: &workflowv1.Moisture{Percent: 12.5}}}},
		SpotReadings: []*workflowv1.SpotReading{{PartLabel: "case", NextSolvent: "denatured alcohol", Why: "nothing came off"}}}, nil
}

func TestTest_Lead(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("test lead 1 free --at '2026-03-02 12:00'"),
		&workflowv1.RecordLeadTestRequest{Piece: "pieces/a", Lead: &workflowv1.Lead{Result: workflowv1.Lead_RESULT_FREE}, TestTime: noon})
	f.gives(t, line("test lead 1 --part DRAWERS found"),
		&workflowv1.RecordLeadTestRequest{Piece: "pieces/a", Part: "pieces/a/parts/d", Lead: &workflowv1.Lead{Result: workflowv1.Lead_RESULT_FOUND}})
	f.gives(t, line("test lead 1 accepted --controls 'wet, with a respirator' --person nell"),
		&workflowv1.RecordLeadTestRequest{Piece: "pieces/a",
			Lead: &workflowv1.Lead{Result: workflowv1.Lead_RESULT_ACCEPTED_WITH_CONTROLS, Controls: "wet, with a respirator", Person: "people/n"}})
	f.says(t, line("test lead 1 accepted --controls wet --person Nell"), "2026-03-02 12:00:00 CST the whole piece lead accepted by Nell under controls: wet Odile")
	f.says(t, line("test lead 1 found --json"), `"RESULT_FOUND"`)
	f.refuses(t, line("test lead 1 accepted --person Nell"), "--controls")
	f.refuses(t, line("test lead 1 accepted --controls wet"), "--person")
	f.refuses(t, line("test lead 1 free --person Nell"), "belong to accepted")
	f.refuses(t, line("test lead 1 perhaps"), "free")
	f.refuses(t, line("test lead 1 --part lid free"), `no part "lid"; it has: case, drawers`)
	f.refuses(t, line("test lead 9 free"), "PIECE_NOT_FOUND")
}

func TestTest_Moisture(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("test moisture 1 --part case 11.5 --zone bench --at '2026-03-02 12:00'"),
		&workflowv1.RecordMoistureRequest{Piece: "pieces/a", Part: "pieces/a/parts/c", Percent: 11.5, Zone: "climateZones/bench", TestTime: noon})
	f.gives(t, line("test moisture 1 '9 %'"), &workflowv1.RecordMoistureRequest{Piece: "pieces/a", Percent: 9})
	f.says(t, line("test moisture 1 --part case 10.5"), "case moisture 10.5 %, dry; in that air wood comes to 9.2 %")
	f.says(t, line("test moisture 1 --part case 14"), "14 %, too wet; in that air wood comes to 9.2 %")
	f.refuses(t, line("test moisture 1 --part case wet"), `"wet" is not a moisture content`)
}

func TestTest_Spot(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("test spot 1 --part case 'denatured alcohol' softens"),
		&workflowv1.RecordSpotTestRequest{Piece: "pieces/a", Part: "pieces/a/parts/c", Solvent: "denatured alcohol", Reaction: "softens"})
	f.says(t, line("test spot 1 --part case 'denatured alcohol' 'turns white'"),
		"The old finish is probably nitrocellulose lacquer or shellac. Wax lies on it. Try lacquer thinner next. Because: it turns white.")
}

func TestTest_List(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.says(t, line("test list 1"), "the whole piece lead free Odile", "case old finish mineral spirits: none Nell", "case moisture 12.5 %, too wet Nell")
}

// The refusal of somebody who has read no cautions says what to type when they have.
func TestClockOn_Cautions(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	for _, typed := range []string{"--acknowledge dust,lead", "--acknowledge dust --acknowledge lead", "--acknowledge 'dust, lead'"} {
		f.gives(t, line("clock on Nell 1 hardware-off "+typed+" --override 'a heater, and a fan'"), &workflowv1.ClockOnRequest{Person: "people/n", Stage: "pieces/a/stages/1",
			AcknowledgedCautions: []string{"dust", "lead"}, OverrideReason: "a heater, and a fan"})
	}
	f.fails = fault.New(fault.Precondition, "CAUTIONS_NOT_ACKNOWLEDGED", "It has cautions. dust: Use extraction.").With("cautions", "dust,lead")
	if code, _, errs := f.run(t, line("clock on Nell 1 hardware-off")...); code != 1 ||
		errs != "shop: It has cautions. dust: Use extraction. Type the line again with --acknowledge dust,lead. (CAUTIONS_NOT_ACKNOWLEDGED)\n" {
		t.Errorf("exits %d: %s", code, errs)
	}
	f.fails = fault.New(fault.Precondition, "PART_NOT_READY", "It still dries.")
	if _, _, errs := f.run(t, line("clock on Nell 1 hardware-off")...); errs != "shop: It still dries. (PART_NOT_READY)\n" {
		t.Errorf("says %s", errs)
	}
}
