package stock

import (
	"slices"
	"testing"

	"google.golang.org/protobuf/types/known/timestamppb"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// Only what is open, in use and not used up is an open can; what gets too old first is first.
func TestStillOpen(t *testing.T) {
	half, nothing := &typev1.Quantity{Value: "0.5", Unit: "L"}, &typev1.Quantity{Value: "0", Unit: "L"}
	lots := []*materialsv1.Lot{
		{Name: "products/oil/lots/never", Left: half, Open: true},
		{Name: "products/oil/lots/shut", Left: half},
		{Name: "products/oil/lots/skinned", Left: half, Open: true, Closed: true},
		{Name: "products/oil/lots/empty", Left: nothing, Open: true},
		{Name: "products/oil/lots/later", Left: half, Open: true, ExpireTime: timestamppb.New(wednesday.AddDate(0, 0, 9)), Place: "places/a"},
		{Name: "products/oil/lots/old", Left: half, Open: true, ExpireTime: timestamppb.New(wednesday)},
	}
	when, names := openingTimes([]*materialsv1.Movement{
		{Name: "products/oil/entries/1", ProductName: "Oil", Time: timestamppb.New(wednesday), Parts: []*materialsv1.Movement_Part{{Lot: "products/oil/lots/later", Quantity: half}, {Lot: "products/oil/lots/root", Quantity: &typev1.Quantity{Value: "-0.5", Unit: "L"}}}},
		{Name: "products/wax/entries/2", ProductName: "Wax", Undone: true},
	})
	if len(names) != 1 || names["products/oil"] != "Oil" || len(when) != 1 {
		t.Errorf("openings of %v at %v; want of the oil alone, one lot", names, when)
	}
	got := stillOpen(lots, "Oil", when, map[string]string{"places/a": "Shelf"}, wednesday)
	slices.SortStableFunc(got, byExpiry)
	if len(got) != 3 || !got[0].Expired || got[1].Place != "Shelf" || got[1].Expired || !got[1].At.Equal(wednesday) || !got[2].Expires.IsZero() {
		t.Errorf("stillOpen = %+v; want the old one, the later one at its shelf, the one that keeps", got)
	}
}
