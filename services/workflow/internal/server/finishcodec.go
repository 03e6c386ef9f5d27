package server

import (
	"fmt"

	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

var (
	materials = map[workflowv1.Assessment_Material]finish.Material{
		workflowv1.Assessment_MATERIAL_SOLID_WOOD: finish.SolidWood, workflowv1.Assessment_MATERIAL_VENEER: finish.Veneer,
		workflowv1.Assessment_MATERIAL_MDF: finish.MDF, workflowv1.Assessment_MATERIAL_LAMINATE: finish.Laminate, workflowv1.Assessment_MATERIAL_METAL: finish.Metal,
	}
	uses = map[workflowv1.ProductUse]workflow.Use{
		workflowv1.ProductUse_PRODUCT_USE_PAINT: workflow.UsePaint, workflowv1.ProductUse_PRODUCT_USE_SECOND_PAINT: workflow.UseSecondPaint,
		workflowv1.ProductUse_PRODUCT_USE_GLAZE: workflow.UseGlaze, workflowv1.ProductUse_PRODUCT_USE_STAIN: workflow.UseStain,
		workflowv1.ProductUse_PRODUCT_USE_TONER: workflow.UseToner, workflowv1.ProductUse_PRODUCT_USE_TOPCOAT: workflow.UseTopcoat,
		workflowv1.ProductUse_PRODUCT_USE_OIL: workflow.UseOil, workflowv1.ProductUse_PRODUCT_USE_WAX: workflow.UseWax,
		workflowv1.ProductUse_PRODUCT_USE_EBONISER: workflow.UseEboniser, workflowv1.ProductUse_PRODUCT_USE_LIMING: workflow.UseLiming,
		workflowv1.ProductUse_PRODUCT_USE_TIE_COAT: workflow.UseTieCoat, workflowv1.ProductUse_PRODUCT_USE_PRIMER: workflow.UsePrimer,
	}
	planStates = map[workflow.PlanState]workflowv1.FinishPlan_State{
		workflow.PlanDraft: workflowv1.FinishPlan_STATE_DRAFT, workflow.PlanApproved: workflowv1.FinishPlan_STATE_APPROVED,
		workflow.PlanSuperseded: workflowv1.FinishPlan_STATE_SUPERSEDED,
	}
)

// key finds the number of a word; each word has one.
func key[E, W comparable](words map[E]W, word W) (e E) {
	for number, known := range words {
		if known == word {
			e = number
		}
	}
	return e
}

func decodePlanStages(stages []*workflowv1.PlannedStage) ([]workflow.PlanStage, error) {
	var out []workflow.PlanStage
	for i, m := range stages {
		s := workflow.PlanStage{Key: m.Key, Part: m.PartLabel, Kind: finish.Kind(m.Kind), Grit: m.Grit, ProductName: m.ProductName, Skill: m.Skill, Station: m.Station,
			Attended: minutes(m.AttendedMinutes), Unattended: minutes(m.UnattendedMinutes), Latest: minutes(m.LatestMinutes),
			Needs: key(dryStates, m.Needs), After: m.After, Why: m.Why}
		if m.Product != "" {
			product, err := id.One(fmt.Sprintf("stages[%d].product", i), m.Product, "products")
			if err != nil {
				return nil, err
			}
			s.Product = product
		}
		out = append(out, s)
	}
	return out, nil
}

func encodePlanStages(stages []workflow.PlanStage, begun map[id.ID]bool) []*workflowv1.PlannedStage {
	out := make([]*workflowv1.PlannedStage, len(stages))
	for i, s := range stages {
		out[i] = &workflowv1.PlannedStage{Key: s.Key, PartLabel: s.Part, Kind: string(s.Kind), Grit: s.Grit, Product: productName(s.Product), ProductName: s.ProductName,
			Skill: s.Skill, Station: s.Station, AttendedMinutes: toMinutes(s.Attended), UnattendedMinutes: toMinutes(s.Unattended), LatestMinutes: toMinutes(s.Latest),
			Needs: dryStates[s.Needs], After: s.After, Cautions: encodeCautions(s.Cautions), Why: s.Why, Amount: encodeAmount(s.Amount()), Begun: begun[s.ID]}
	}
	return out
}

// productName writes no product as none.
func productName(product id.ID) string {
	if product == id.Nil {
		return ""
	}
	return id.Name("products", product)
}

func encodeAmount(a *workflow.PlanAmount) *typev1.Quantity {
	if a == nil {
		return nil
	}
	return wire.ToQuantity(a.Value, a.Unit)
}

func encodeNeeds(needs []workflow.PlanNeed) []*workflowv1.MaterialNeed {
	var out []*workflowv1.MaterialNeed
	for _, n := range needs {
		out = append(out, &workflowv1.MaterialNeed{Product: productName(n.Product), ProductName: n.Name,
			Needed: encodeAmount(n.Needed), OnHand: encodeAmount(n.OnHand), Short: encodeAmount(n.Short)})
	}
	return out
}

func encodeFinishPlan(p workflow.FinishPlan, begun map[id.ID]bool) *workflowv1.FinishPlan {
	out := &workflowv1.FinishPlan{
		Name: fmt.Sprintf("%s/finishPlans/%d", id.Name("pieces", p.Piece), p.Version), Version: p.Version, State: planStates[p.State],
		Products: encodeChoices(p.Choices), Stages: encodePlanStages(p.Stages, begun), Findings: encodeFindings(p.Findings), Needs: encodeNeeds(p.Needs),
		AttendedMinutes: toMinutes(p.Hands.Likely), AttendedMinutesLow: toMinutes(p.Hands.Low), AttendedMinutesHigh: toMinutes(p.Hands.High),
		Zone: zoneName(p.ZoneWord), Reason: p.Reason, Actor: p.Actor, DraftTime: wire.ToInstant(p.DraftedAt), ApproveTime: wire.ToInstant(p.ApprovedAt), Etag: wire.Etag(int64(p.Version)),
	}
	for _, part := range p.Parts {
		out.Parts = append(out.Parts, encodeWish(p.Piece, part))
	}
	return out
}

func encodeWish(piece id.ID, p workflow.PlanPart) *workflowv1.PartWish {
	return &workflowv1.PartWish{
		Part: id.Name("pieces", piece, "parts", p.ID), AreaM2: p.AreaM2, Look: string(p.Look), Coats: int32(p.Coats), Topcoats: int32(p.Topcoats),
		Waxed: p.Waxed, MatchGroup: p.MatchGroup, Products: encodeChoices(p.Choices),
		Assessment: &workflowv1.Assessment{Material: key(materials, p.Material), Species: p.Species, VeneerMm: p.VeneerMM, OldFinish: string(p.OldFinish),
			Waxed: p.OldWax, OldStain: p.OldStain, PaintedIn: int32(p.PaintedIn), Defects: encodeDefects(p.Defects)},
	}
}

func encodeDefects(defects []finish.Defect) (words []string) {
	for _, d := range defects {
		words = append(words, string(d))
	}
	return words
}

func encodeChoices(choices []workflow.PlanChoice) []*workflowv1.ChosenProduct {
	var out []*workflowv1.ChosenProduct
	for _, c := range choices {
		out = append(out, &workflowv1.ChosenProduct{Use: key(uses, c.Use), Product: productName(c.Product)})
	}
	return out
}
