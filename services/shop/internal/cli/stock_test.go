package cli

import (
	"strings"
	"testing"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func TestReceive_PackagesOrAQuantity(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	packages := func(label string, count int32) *materialsv1.ReceiveStockRequest {
		return &materialsv1.ReceiveStockRequest{Product: "products/k", Cost: usd(36_00),
			Amount: &materialsv1.ReceiveStockRequest_Packages_{Packages: &materialsv1.ReceiveStockRequest_Packages{Label: label, Count: count}}}
	}
	receive := "stock receive 'clear  COAT' --cost 36 "
	f.gives(t, line(receive+"--package 'quart can'"), packages("quart can", 1))
	f.gives(t, line(receive+"--package 'quart can' --count 3"), packages("quart can", 3))
	f.gives(t, line(receive+"--quantity 2.5L"), &materialsv1.ReceiveStockRequest{Product: "products/k", Cost: usd(36_00),
		Amount: &materialsv1.ReceiveStockRequest_Quantity{Quantity: amount("2.5", "L")}})
	for rest, want := range map[string]string{
		"--quantity 2L --package 'quart can'": "can't be used together",
		"--quantity 2L --count 1":             "can't be used together",
		"":                                    "say how much came",
		"--count 2":                           "say how much came",
		"--package 'quart can' --count 0":     "The count must be",
		"--quantity 2":                        "is not an amount with a unit",
	} {
		f.refuses(t, line(receive+rest), want)
	}
}

// Amounts are shown to be read; the data keeps every digit.
func TestStock_ShowsFourDigits(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.products[0].OnHand, f.products[0].Value, f.products[0].RestockThreshold = amount("0.946352946", "L"), usd(36_00), amount("0.00001", "L")
	f.says(t, line("stock list"), "  0.9464 L  ", "  <0.0001 L")
	f.says(t, line("stock list --json"), `"0.946352946"`)
	f.says(t, line("stock issue 'Clear coat' 100mL 1 'sand (case)'"), "0.1 L of Clear coat went to sand (case) for 3.80; 0.8464 L left.")
}

func TestIssues_AreListedAndTakenBack(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.pieces = append(f.pieces, &intakev1.Piece{Name: "pieces/b", Tag: 2})
	f.issues = []*materialsv1.Issue{
		{Name: "products/k/issues/0a2", ProductName: "Clear coat", Stage: "pieces/a/stages/2", StageKind: "sand", Pass: 1, Quantity: amount("0.100000001", "L"),
			Cost: usd(380), IssueTime: stamp(t, "2026-03-02T14:00:00Z"), Actor: "Priya"},
		{Name: "products/k/issues/0a1", ProductName: "Clear coat", Stage: "pieces/b/stages/8", StageKind: "topcoat_coat", Pass: 2, Quantity: amount("1", "L"),
			Cost: usd(3804), IssueTime: stamp(t, "2026-03-02T13:00:00Z"), Actor: "Priya", TakenBack: true, TakeBackReason: "litres, not millilitres"},
	}
	f.says(t, line("stock issues --product 'Clear coat' --piece 1"), "0a2    2026-03-02 08:00:00 CST  Priya  Clear coat", "0.1 L", "3.80      1  sand (case)",
		"38.04      2  topcoat coat", "taken back: litres, not millilitres")
	back := &materialsv1.TakeBackIssueRequest{Issue: "products/k/issues/0a2", Reason: "wrong can", TakeBackTime: stamp(t, "2026-03-02T15:00:00Z")}
	f.gives(t, line("stock take-back 0A2 --reason 'wrong can' --at '2026-03-02 09:00'"), back)
	f.gives(t, line("stock take-back products/k/issues/0a2 --reason 'wrong can' --at '2026-03-02 09:00'"), back)
	f.says(t, line("stock take-back 0a2 --reason x"), "0.1 L of Clear coat are on the shelf again, worth 3.80; 0.9464 L on hand.")
	f.refuses(t, line("stock take-back 0b7 --reason x"), "there is no issue 0b7")
	// Of what came back in part, the rest.
	f.issues[0].Returned, f.issues[0].ReturnedCost = amount("0.04", "L"), usd(152)
	f.says(t, line("stock take-back 0a2 --reason x"), "0.06 L of Clear coat are on the shelf again, worth 2.28; 0.9464 L on hand.")
}

// Whatever is written down late says what it changed of what was there already.
func TestStock_WhatIsLateIsCountedAnew(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.issues = []*materialsv1.Issue{{Name: "products/k/issues/0a2", ProductName: "Clear coat", Quantity: amount("0.1", "L"), Cost: usd(380)}}
	f.batches = []*workflowv1.Batch{{Name: "batches/b", DisplayName: "Fronts"}}
	f.shelf.recosted = []*materialsv1.Recosting{{ProductName: "Clear coat", Stage: "pieces/a/stages/3", Purpose: "issue", OldCost: usd(3_80), NewCost: usd(3_95)}}
	for _, text := range []string{"stock receive 'Clear coat' --quantity 1L --cost 20", "stock issue 'Clear coat' 100mL 1 'sand (case)'", "stock issue 'Clear coat' 100mL --batch Fronts",
		"stock take-back 0a2 --reason x", "stock undo products/k/entries/0e1 --reason x"} {
		f.says(t, line(text), "Counted anew: sand (drawers) of piece 1, issue of Clear coat: 3.80 before, 3.95 now.\n")
	}
}

func TestStock_Undo(t *testing.T) {
	t.Parallel()
	f := stocked(t)
	f.products[0].OnHand, f.products[0].Value = amount("1.5", "L"), usd(30_00)
	f.shelf.movements = []*materialsv1.Movement{{Name: "products/k/entries/0e3", Purpose: "undo", Of: "products/k/entries/0e1"}, {Name: "products/k/entries/0e2", Purpose: "waste"},
		{Name: "products/t/entries/0e1", Purpose: "count", Undone: true, Reason: "left open"}}
	undo := &materialsv1.UndoEntryRequest{Entry: "products/k/entries/0e2", Reason: "wrong can"}
	f.gives(t, line("stock undo 0E2 --reason 'wrong can'"), undo)
	f.gives(t, line("stock undo products/k/entries/0e2 --reason 'wrong can'"), undo)
	f.says(t, line("stock undo 0e2 --reason x"), "It counts as if it had never been; 1.5 L of Clear coat on hand, worth 30.00.\n")
	f.refuses(t, line("stock undo 0e --reason x"), "the ids of 3 entries begin with 0e; say more of it")
	f.refuses(t, line("stock undo 0f --reason x"), `there is no entry "0f"; `+"`shop stock history` lists them")
	f.refuses(t, line("stock undo e2 --reason x"), `there is no entry "e2"`)
	f.refuses(t, line("stock undo '' --reason x"), `there is no entry ""`)
	f.refuses(t, line("stock undo 0e2"), "--reason")
	f.says(t, line("stock history"), "0e1 – count", " undone: it counts as if it had never been; left open\n", " of 0e1\n")
	f.asksFor(t, line("stock history --for undo"), &materialsv1.ListMovementsRequest{Purposes: []string{"undo"}, PageSize: 1000})
	for _, command := range []string{"close", "open", "move", "fix-cost", "return", "waste", "count", "receive"} {
		if _, out, _ := f.run(t, "stock", command, "--help"); !strings.Contains(out, "stock undo") {
			t.Errorf("the help of stock %s does not say how a slip is undone:\n%s", command, out)
		}
	}
}
