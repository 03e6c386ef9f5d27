package cli

import (
	"testing"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

func TestReceive_PackagesOrAQuantity(t *testing.T) {
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
		"--package 'quart can' --count 0":     "packages.count",
		"--quantity 2":                        "is not an amount with a unit",
	} {
		f.refuses(t, line(receive+rest), want)
	}
}

// Amounts are shown to be read; the data keeps every digit.
func TestStock_ShowsFourDigits(t *testing.T) {
	f := newFake(t)
	f.products[0].OnHand, f.products[0].Value, f.products[0].RestockThreshold = amount("0.946352946", "L"), usd(36_00), amount("0.00001", "L")
	f.says(t, line("stock list"), "  0.9464 L  ", "  <0.0001 L")
	f.says(t, line("stock list --json"), `"0.946352946"`)
	f.says(t, line("stock issue 'Clear coat' 100mL 1 'sand (case)'"), "0.1 L of Clear coat went to sand (case) for 3.80; 0.8464 L left.")
}

func TestIssues_AreListedAndTakenBack(t *testing.T) {
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
}
