package cli

import (
	"testing"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

func TestPiece_Assess(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("piece assess 1 CASE --material 'solid wood' --old-finish bare"),
		&intakev1.AssessPartRequest{Part: "pieces/a/parts/c", Seen: &intakev1.PartSeen{Material: "solid wood", OldFinish: "bare"}})
	f.gives(t, line("piece assess 1 case --material veneer --species walnut --veneer '0.7 mm' --old-finish shellac --waxed --old-stain --painted-in 1930s --condition worn "+
		"--defect 'veneer chip:mend:front edge:3:deep' --defect burn:slight --note 'a gift' --at '2026-03-02 12:00'"),
		&intakev1.AssessPartRequest{Part: "pieces/a/parts/c", AssessTime: noon, Seen: &intakev1.PartSeen{Material: "veneer", Species: "walnut", Veneer: amount("0.7", "mm"), OldFinish: "shellac",
			Waxed: true, OldStain: true, PaintedIn: 1930, PaintedInDecade: true, Condition: typev1.PieceCondition_PIECE_CONDITION_WORN, Note: "a gift", Defects: []*intakev1.PartDefect{
				{Kind: "veneer chip", Severity: intakev1.PartDefect_SEVERITY_TO_MEND, Where: "front edge", Photos: []string{"photos/p3"}, Note: "deep"},
				{Kind: "burn", Severity: intakev1.PartDefect_SEVERITY_SLIGHT}}}})
	f.says(t, line("piece assess 1 case --material MDF --old-finish unknown --painted-in 1960 --defect burn:spoils"), "case MDF unknown 1960 – Odile", "case burn spoils the part 0")
	basic := "piece assess 1 case --material veneer --old-finish shellac "
	f.refuses(t, line(basic+"--painted-in lately"), "is not a year such as 1955")
	f.refuses(t, line(basic+"--defect burn"), "how bad it is is slight, mend or spoils")
	f.refuses(t, line(basic+"--defect burn:badly"), "how bad it is is slight, mend or spoils")
	f.refuses(t, line(basic+"--defect burn:mend::9"), "piece 1 has no photo 9")
	f.refuses(t, line(basic+"--veneer thin"), "is not an amount with a unit")
	f.refuses(t, line("piece assess 1 lid --material veneer --old-finish shellac"), `no part "lid"`)
	f.refuses(t, line("piece assess 1 case --material veneer"), "--old-finish")
}

func TestPiece_Assessment(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.says(t, line("piece assessment 1"), "case walnut veneer shellac, waxed 1930s worn Odile", "drawers nobody looked yet", "case veneer chip to mend front edge 1",
		"case: of the veneer (0.5 mm presumed, for nobody measured it) at most 0.3 mm may be sanded off, for 0.2 mm must stay (veneer-left, common practice). What was sanded off since is not counted.",
		"case: a gift", "old finish mineral spirits: none", "case: Try denatured alcohol next. Because: nothing came off.")
	f.says(t, line("test list 1"), "case: Try denatured alcohol next.")
}
