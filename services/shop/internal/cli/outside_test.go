package cli

import (
	"testing"

	"google.golang.org/genproto/googleapis/type/date"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// withCaner has drawers of the dresser with a caner, and a case that came back.
func withCaner(t *testing.T) *fake {
	t.Helper()
	f := withBooth(t)
	f.outside = []*workflowv1.OutsideWork{
		{Name: "outsideWork/a1", PieceTag: 1, PartLabel: "drawers", Kind: "caning", Firm: "Corbel Cane", Quoted: usd(120_00), SentTime: middayPlus(0), DueDate: &date.Date{Year: 2026, Month: 3, Day: 9},
			State: workflowv1.OutsideWork_STATE_OUT, Overdue: true, Chases: []*workflowv1.OutsideWork_Chase{{ChaseTime: middayPlus(30), Actor: "Odile", Note: "on Friday"}}},
		{Name: "outsideWork/a2", PieceTag: 1, Kind: "stone", Firm: "Slate & Sons", SentTime: middayPlus(0), BackTime: middayPlus(60), Billed: usd(80_00), State: workflowv1.OutsideWork_STATE_BACK}}
	return f
}

func TestOutside_Send(t *testing.T) {
	t.Parallel()
	f := withCaner(t)
	due := &date.Date{Year: 2026, Month: 3, Day: 9}
	f.gives(t, line("outside send 1 caning 'Corbel Cane' --part drawers --stage 'sand (drawers)' --quoted 120 --due 2026-03-09 --at '2026-03-02 12:00'"), &workflowv1.SendOutRequest{
		Piece: "pieces/a", Part: "pieces/a/parts/d", Kind: "caning", Firm: "Corbel Cane", Quoted: usd(120_00), DueDate: due, Stage: "pieces/a/stages/3", SendTime: middayPlus(0)})
	f.gives(t, line("outside send 1 stone 'Slate & Sons' --due 2026-03-09"), &workflowv1.SendOutRequest{Piece: "pieces/a", Kind: "stone", Firm: "Slate & Sons", DueDate: due})
	f.refuses(t, line("outside send 1 stone 'Slate & Sons'"), "--due")
	f.refuses(t, line("outside send 1 stone 'Slate & Sons' --due soon"), `"soon" is not a day`)
	f.refuses(t, line("outside send 1 stone 'Slate & Sons' --due 2026-03-09 --quoted much"), "is not an amount of USD")
}

// By the tag it is what the command is about: what is out to chase or take back, what came
// back to be billed otherwise.
func TestOutside_ByTagOrID(t *testing.T) {
	t.Parallel()
	f := withCaner(t)
	f.gives(t, line("outside chase 1 'on Friday' --due 2026-03-13 --at '2026-03-02 12:00'"), &workflowv1.ChaseOutsideWorkRequest{
		OutsideWork: "outsideWork/a1", Note: "on Friday", DueDate: &date.Date{Year: 2026, Month: 3, Day: 13}, ChaseTime: middayPlus(0)})
	f.gives(t, line("outside back 1 --billed 118.50 --station 'the booth' --at '2026-03-02 12:00'"), &workflowv1.ReceiveOutsideWorkRequest{
		OutsideWork: "outsideWork/a1", Billed: usd(118_50), Station: "stations/booth", ReceiveTime: middayPlus(0)})
	f.gives(t, line("outside back 1 --undone"), &workflowv1.ReceiveOutsideWorkRequest{OutsideWork: "outsideWork/a1", CalledOff: true})
	f.gives(t, line("outside bill 1 85 --reason 'a second slab'"), &workflowv1.CorrectOutsideBillRequest{OutsideWork: "outsideWork/a2", Billed: usd(85_00), Reason: "a second slab"})
	f.outside = append(f.outside, &workflowv1.OutsideWork{Name: "outsideWork/a3", PieceTag: 1, State: workflowv1.OutsideWork_STATE_CALLED_OFF})
	f.refuses(t, line("outside bill 1 5 --reason 'a fee'"), "piece 1 has several; say which by its id")
	f.gives(t, line("outside bill a3 5 --reason 'a fee'"), &workflowv1.CorrectOutsideBillRequest{OutsideWork: "outsideWork/a3", Billed: usd(5_00), Reason: "a fee"})
	f.outside = f.outside[:2]
	// A command on what is back already goes out all the same: the shop knows whether it was given before.
	f.outside[1].PieceTag = 7
	f.gives(t, line("outside back 7"), &workflowv1.ReceiveOutsideWorkRequest{OutsideWork: "outsideWork/a2"})
	f.outside[1].State = workflowv1.OutsideWork_STATE_OUT
	f.gives(t, line("outside back 7"), &workflowv1.ReceiveOutsideWorkRequest{OutsideWork: "outsideWork/a2"})
	f.outside[1].PieceTag = 1
	f.refuses(t, line("outside back 1"), "piece 1 has several; say which by its id")
	f.refuses(t, line("outside back 9"), "there is no outside work 9; `shop outside list --all` lists it")
	f.outside[0].Name = "outsideWork/00000000-0000-7000-8000-00000000000a"
	f.gives(t, line("outside back 00000000-0000-7000-8000-00000000000A"), &workflowv1.ReceiveOutsideWorkRequest{OutsideWork: "outsideWork/00000000-0000-7000-8000-00000000000a"})
}

func TestOutside_List(t *testing.T) {
	t.Parallel()
	f := withCaner(t)
	f.asksFor(t, line("outside list --piece 1 --all --overdue"), &workflowv1.ListOutsideWorkRequest{Piece: "pieces/a", IncludeBack: true, OverdueOnly: true, PageSize: 1000})
	f.asksFor(t, line("outside list --unbilled"), &workflowv1.ListOutsideWorkRequest{UnbilledOnly: true, PageSize: 1000})
	f.says(t, line("outside list"), "a1 1 drawers caning Corbel Cane 2026-03-02 12:00:00 CST 2026-03-09 out, overdue 120.00 – 1\n",
		"a2 1 all stone Slate & Sons 2026-03-02 12:00:00 CST back since 2026-03-02 13:00:00 CST – 80.00 0\n",
		"2026-03-02 12:30:00 CST Odile asked Corbel Cane about caning of piece 1: on Friday\n")
	f.outside[1].Billed = nil
	f.says(t, line("outside list"), "back since 2026-03-02 13:00:00 CST, no bill yet – – 0\n")
}
