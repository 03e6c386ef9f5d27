package cli

import (
	"testing"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/types/known/fieldmaskpb"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func TestTakeIn(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("piece take-in Stool --kind stool --price 12.50 --source 'church sale, north' --date 2026-02-27 --part 'seat, round:2:16inx7in'"),
		&intakev1.TakeInPieceRequest{Title: "Stool", Kind: "stool",
			Parts: []*intakev1.Part{{Label: "seat, round", Count: 2, Length: amount("16", "in"), Width: amount("7", "in")}},
			Origin: &intakev1.TakeInPieceRequest_Purchase{Purchase: &intakev1.Purchase{
				Price: usd(1250), Source: "church sale, north", Date: &date.Date{Year: 2026, Month: 2, Day: 27}}}})
	f.gives(t, line("piece take-in Stool --kind stool --client 'L. Brandt' --part seat --part leg:4 --tag 7 --size small --condition worn"),
		&intakev1.TakeInPieceRequest{Title: "Stool", Kind: "stool", Tag: 7, Size: typev1.PieceSize_PIECE_SIZE_SMALL, Condition: typev1.PieceCondition_PIECE_CONDITION_WORN, Parts: []*intakev1.Part{{Label: "seat"}, {Label: "leg", Count: 4}},
			Origin: &intakev1.TakeInPieceRequest_Commission{Commission: &intakev1.Commission{Client: "L. Brandt"}}})
	stool := "piece take-in Stool --kind stool "
	for rest, want := range map[string]string{
		"--client B":                                         "say at least one --part; --part whole for a piece that is treated as one",
		"--part seat":                                        "say what it was bought for (--price and --source), or whose it is (--client)",
		"--part seat --price 3":                              "say what it was bought for (--price and --source), or whose it is (--client)",
		"--part seat --source kerb":                          "say what it was bought for (--price and --source), or whose it is (--client)",
		"--part seat --client B --price 3":                   "--price and --client can't be used together",
		"--part seat --client B --source kerb":               "--source and --client can't be used together",
		"--part seat --client B --date 2026-02-27":           "--date and --client can't be used together",
		"--part seat:0 --client B":                           `part "seat:0": "0" is not a number of alike parts`,
		"--part seat:-1 --client B":                          `"-1" is not a number of alike parts`,
		"--part seat:few --client B":                         `"few" is not a number of alike parts`,
		"--part seat:1:wide --client B":                      "is not an amount with a unit",
		"--part seat --price 3 --source k --date 2026-02-30": `"2026-02-30" is not a day`,
		"--part seat --client B --size huge":                 "--size must be one of",
		"--part seat --client B --condition new":             "--condition must be one of",
		"--part seat --price cheap --source k":               "is not an amount of USD",
	} {
		f.refuses(t, line(stool+rest), want)
	}
}

func TestPiece_IsNamedByItsTag(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.says(t, line("piece show 1"), "1  Pine dresser")
	f.says(t, line("piece show 001"), "1  Pine dresser")
	f.says(t, line("piece show pieces/a"), "1  Pine dresser")
	f.refuses(t, line("piece show abc"), "abc is not a tag number")
	f.refuses(t, line("piece show 1.5"), "1.5 is not a tag number")
	f.refuses(t, line("piece show 9"), "There is no such piece.")
}

// What a piece is to people, intake and sales know together.
func TestPieces_StateIsWhatIntakeAndSalesKnow(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	commission := &intakev1.Piece_Commission{Commission: &intakev1.Commission{Client: "B"}}
	f.pieces = append(f.pieces,
		&intakev1.Piece{Name: "pieces/b", Tag: 2, Title: "Stool", State: intakev1.Piece_STATE_IN_HAND},
		&intakev1.Piece{Name: "pieces/c", Tag: 3, Title: "Bench", State: intakev1.Piece_STATE_IN_HAND},
		&intakev1.Piece{Name: "pieces/d", Tag: 4, Title: "Chair", State: intakev1.Piece_STATE_IN_HAND, Origin: commission},
		&intakev1.Piece{Name: "pieces/e", Tag: 5, Title: "Shelf", State: intakev1.Piece_STATE_SCRAPPED})
	listing := func(id string, tag int32, s salesv1.Listing_State) *salesv1.Listing {
		return &salesv1.Listing{Name: "listings/" + id, Piece: "pieces/" + id, Tag: tag, State: s, Channel: "floor"}
	}
	f.listings = []*salesv1.Listing{listing("b", 2, salesv1.Listing_STATE_LISTED), listing("c", 3, salesv1.Listing_STATE_SOLD),
		listing("d", 4, salesv1.Listing_STATE_SOLD), listing("e", 5, salesv1.Listing_STATE_LISTED)}
	f.says(t, line("piece list"), "church sale, 40.00  in hand", "  listed\n", "  sold\n", "commission of B     invoiced", "  scrapped\n")
	f.says(t, line("piece show 3"), "sold, in since")
	f.says(t, line("sale list"), "  2  listed ", "  3  sold ", "  4  invoiced ", "  5  scrapped ")
}

func TestPerson_SkillsAndNames(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("person add Ruth --skill 'sand, fine' --skill spray"),
		&workflowv1.AddPersonRequest{DisplayName: "Ruth", Skills: []string{"sand, fine", "spray"}})
	f.gives(t, line("person change nell --name 'Nell Oord'"), &workflowv1.UpdatePersonRequest{
		Person: &workflowv1.Person{Name: "people/n", DisplayName: "Nell Oord"}, UpdateMask: &fieldmaskpb.FieldMask{Paths: []string{"display_name"}}})
	f.gives(t, line("person change Nell --skill sand --skill inspect"), &workflowv1.UpdatePersonRequest{
		Person: &workflowv1.Person{Name: "people/n", Skills: []string{"sand", "inspect"}}, UpdateMask: &fieldmaskpb.FieldMask{Paths: []string{"skills"}}})
	f.gives(t, line("person change Nell --skill ''"), &workflowv1.UpdatePersonRequest{
		Person: &workflowv1.Person{Name: "people/n"}, UpdateMask: &fieldmaskpb.FieldMask{Paths: []string{"skills"}}})
	f.refuses(t, line("person change Nell"), "say what changes")
	f.refuses(t, line("person change Ruth --name Rut"), `nobody called "Ruth" is in the shop; there are: Nell`)
}

func TestStockAdd_PackagesKeepTheirCommas(t *testing.T) {
	t.Parallel()
	newFake(t).gives(t, line("stock add Stain --unit L --package 'can, half pint=8floz' --restock-below 0.2L"), &materialsv1.AddProductRequest{
		DisplayName: "Stain", Unit: "L", RestockThreshold: amount("0.2", "L"), Packages: []*materialsv1.Package{{Label: "can, half pint", Content: amount("8", "floz")}}})
	newFake(t).refuses(t, line("stock add Stain --unit L --package 8floz"), `"8floz" is not of the form 'quart can=1qt'`)
}
