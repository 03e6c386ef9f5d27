package intake_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
	"tackfree/services/intake/internal/intake"
)

func sawDresser() intake.Prospect {
	s := intake.Sighting{Kind: "dresser", Size: intake.Large, Defects: []finish.Defect{finish.Burn}, Source: "auction"}
	pr := intake.See(s, intake.GoneBy{Parts: []intake.Part{{Label: "top", Count: 1}, {Label: "leg", Count: 4}}}, intake.Advice{MostToPay: 7}, monday)
	pr.Number = 3
	return pr
}

func purchased() intake.Purchased {
	return intake.Purchased{ID: id.New(), Tag: 9, By: intake.Purchase{Price: 12_50, Day: day(2)}, At: monday}
}

func TestProspect_Buy(t *testing.T) {
	pr, b := sawDresser(), purchased()
	if pr.State != intake.ProspectOpen || pr.Version != 1 || pr.Advice.MostToPay != 7 || pr.SeenAt != monday || pr.ID == id.Nil {
		t.Errorf("See = %+v", pr)
	}
	got, err := pr.Buy(b, day(2))
	if err != nil {
		t.Fatal(err)
	}
	want := intake.Piece{ID: b.ID, Prospect: pr.ID, Tag: 9, Title: "dresser", Kind: "dresser", Size: intake.Large, Condition: intake.Damaged,
		Purchase: &intake.Purchase{Price: 12_50, Source: "auction", Day: day(2)}, Parts: pr.Parts, State: intake.InHand, TakenInAt: monday, Version: 1}
	if diff := cmp.Diff(want, got, cmpopts.IgnoreFields(intake.Part{}, "ID"), cmp.Comparer(func(a, b quantity.Unit) bool { return a.Symbol == b.Symbol })); diff != "" {
		t.Errorf("Buy (-want +got):\n%s", diff)
	}
	if got.Parts[0].ID == id.Nil || got.Parts[0].ID == got.Parts[1].ID || pr.Parts[0].ID != id.Nil {
		t.Errorf("parts %+v of a prospect with %+v; want an id for each of the piece's, and none before", got.Parts, pr.Parts)
	}
	if pr.State != intake.ProspectBought || pr.Piece != b.ID || pr.Paid != 12_50 || pr.Version != 2 {
		t.Errorf("the prospect is %+v", pr)
	}
}

// What is said when it is bought goes before what was seen.
func TestProspect_Buy_AsSaidNow(t *testing.T) {
	pr, b := sawDresser(), purchased()
	pr.Sighting.Title = "Oak dresser"
	b.By.Source, b.Parts = "neighbour", []intake.Part{{ID: id.New(), Label: "whole", Count: 1}}
	p, err := pr.Buy(b, day(2))
	if err != nil || p.Title != "Oak dresser" || p.Purchase.Source != "neighbour" || len(p.Parts) != 1 || p.Parts[0].ID != b.Parts[0].ID {
		t.Errorf("Buy = %+v, %v", p, err)
	}
}

// Every pair of a state and a command.
func TestProspect_States(t *testing.T) {
	for state, open := range map[intake.ProspectState]bool{intake.ProspectOpen: true, intake.ProspectBought: false, intake.ProspectDeclined: false} {
		for name, command := range map[string]func(*intake.Prospect) error{
			"Buy":     func(pr *intake.Prospect) error { _, err := pr.Buy(purchased(), day(2)); return err },
			"Decline": func(pr *intake.Prospect) error { return pr.Decline("worm") },
		} {
			pr := sawDresser()
			pr.State, pr.Reason = state, "smell"
			before := pr
			switch err := command(&pr); {
			case open && (err != nil || pr.Version != 2):
				t.Errorf("%s of one that is %s = %v, version %d", name, state, err, pr.Version)
			case !open && (!fault.Is(err, "PROSPECT_CLOSED") || pr.Version != before.Version || pr.State != state || pr.Reason != "smell"):
				t.Errorf("%s of one that is %s = %v and it is %+v, want PROSPECT_CLOSED and nothing changed", name, state, err, pr)
			}
		}
	}
	pr := sawDresser()
	if err := pr.Decline("worm"); err != nil || pr.State != intake.ProspectDeclined || pr.Reason != "worm" {
		t.Errorf("Decline = %v and it is %+v", err, pr)
	}
}

func TestProspect_Buy_Refuses(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*intake.Prospect, *intake.Purchased)
		reason string
	}{
		"NoSource":   {func(pr *intake.Prospect, _ *intake.Purchased) { pr.Sighting.Source = "" }, "SOURCE_MISSING"},
		"BoughtNext": {func(_ *intake.Prospect, b *intake.Purchased) { b.By.Day = day(3) }, "PURCHASE_AFTER_INTAKE"},
		"PartTwice":  {func(_ *intake.Prospect, b *intake.Purchased) { b.Parts = []intake.Part{{Label: "leg"}, {Label: "Leg"}} }, "PART_LABEL_TWICE"},
	} {
		pr, b := sawDresser(), purchased()
		c.change(&pr, &b)
		if _, err := pr.Buy(b, day(2)); !fault.Is(err, c.reason) || pr.State != intake.ProspectOpen || pr.Version != 1 {
			t.Errorf("%s: Buy = %v and it is %s, want %s and open", name, err, pr.State, c.reason)
		}
	}
}
