package server

import (
	"context"
	"fmt"
	"math"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

// wishes asks intake for the piece and materials for the products, and reads what the
// parts are to become.
func (s *Server) wishes(ctx context.Context, r *workflowv1.DraftFinishPlanRequest) (w wished, err error) {
	resp, err := s.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: r.Piece})
	if err != nil {
		return w, atPiece(err)
	}
	if resp.Piece.State == intakev1.Piece_STATE_SCRAPPED {
		return w, fault.New(fault.Precondition, "PIECE_SCRAPPED", "Piece %d was scrapped; it gets no stages.", resp.Piece.Tag)
	}
	seen, err := s.assessments(ctx, r)
	if err != nil {
		return w, err
	}
	var asked []askedFor
	if w.body.Choices, asked, err = decodeChoices("products", r.Products); err != nil {
		return w, err
	}
	w.piece = resp.Piece
	year := s.Shop.Now().In(s.Shop.Zone).Year()
	for i, m := range r.Parts {
		own, err := w.add(i, m, seen[m.Part], year)
		if err != nil {
			return w, err
		}
		asked = append(asked, own...)
	}
	w.body.Products, err = s.products(ctx, asked)
	return w, err
}

// wished is a piece with what its parts are to become, and what was taken of them from intake's assessments.
type wished struct {
	piece *intakev1.Piece
	body  workflow.PlanBody
	taken []*workflowv1.TakenFromAssessment
}

// add reads one wish; asked are the products that it names.
func (w *wished) add(i int, m *workflowv1.PartWish, seen *intakev1.PartAssessment, year int) (asked []askedFor, err error) {
	part, taken, asked, err := decodeWish(i, m, w.piece.Parts, seen, year)
	if err != nil {
		return nil, err
	}
	w.body.Parts = append(w.body.Parts, part)
	if taken != nil {
		w.taken = append(w.taken, taken)
	}
	return asked, nil
}

// decodeWish reads, in a year, what a part is to become, and takes what it leaves out from what was seen of it. Faults:
// PART_UNKNOWN, PART_NOT_ASSESSED, those of PlanPart.Check, AREA_MISSING, OUT_OF_RANGE, INVALID_NAME.
func decodeWish(i int, w *workflowv1.PartWish, parts []*intakev1.Part, seen *intakev1.PartAssessment, year int) (p workflow.PlanPart, taken *workflowv1.TakenFromAssessment, asked []askedFor, err error) {
	at := fmt.Sprintf("parts[%d]", i)
	part := partOf(parts, w.Part)
	if part == nil {
		return p, nil, nil, fault.New(fault.Invalid, "PART_UNKNOWN", "The piece has no part %q.", w.Part).At(at + ".part")
	}
	ids, err := id.FromName(at+".part", part.Name, "pieces", "parts")
	if err != nil {
		return p, nil, nil, err
	}
	p = assessedPart(w.Assessment)
	p.ID, p.Label, p.Look, p.Coats, p.Topcoats, p.Waxed, p.MatchGroup = ids[1], part.Label, finish.Look(w.Look), int(w.Coats), int(w.Topcoats), w.Waxed, w.MatchGroup
	if p, taken, err = asSeen(p, seen); err == nil {
		err = p.Check(year)
	}
	if err != nil {
		return p, nil, nil, fieldIn(err, at+".assessment")
	}
	if p.AreaM2, err = areaOf(w, part); err != nil {
		return p, nil, nil, fieldIn(err, at)
	}
	p.Choices, asked, err = decodeChoices(at+".products", w.Products)
	return p, taken, asked, err
}

// assessedPart is a part as somebody saw it, of which nobody said yet what it is to become; absent is nothing said.
func assessedPart(a *workflowv1.Assessment) workflow.PlanPart {
	return workflow.PlanPart{Material: materials[a.GetMaterial()], Species: a.GetSpecies(), VeneerMM: a.GetVeneerMm(), OldFinish: finish.Family(a.GetOldFinish()),
		OldWax: a.GetWaxed(), OldStain: a.GetOldStain(), PaintedIn: int(a.GetPaintedIn()), Defects: decodeDefects(a.GetDefects())}
}

func decodeDefects(words []string) (out []finish.Defect) {
	for _, w := range words {
		out = append(out, finish.Defect(w))
	}
	return out
}

func partOf(parts []*intakev1.Part, name string) *intakev1.Part {
	for _, part := range parts {
		if part.Name == name {
			return part
		}
	}
	return nil
}

// areaOf is what is to be coated of a part and all that are like it, m².
func areaOf(w *workflowv1.PartWish, part *intakev1.Part) (float64, error) {
	if w.AreaM2 != 0 {
		return w.AreaM2, dimension.Within("area_m2", w.AreaM2, 0, 100, "m²")
	}
	return measured(part)
}

// measured is the surface of a part and all that are like it, m², as it was measured at intake.
// Faults: AREA_MISSING, OUT_OF_RANGE.
func measured(part *intakev1.Part) (float64, error) {
	m := workflow.Measures{Count: int(max(1, part.Count))}
	for _, l := range []struct {
		to *float64
		of *typev1.Quantity
	}{{&m.Length, part.Length}, {&m.Width, part.Width}, {&m.Thickness, part.Thickness}} {
		if l.of == nil {
			continue
		}
		q, err := quantity.Parse(l.of.Value, l.of.Unit)
		if err != nil {
			return 0, err
		}
		*l.to = q.InBase().Value.InexactFloat64()
	}
	area, err := m.Area(part.Label)
	return math.Round(area*1e4) / 1e4, err // to the cm², which no tape is better than
}

// fieldIn says in what of the request a field at fault is.
func fieldIn(err error, path string) error {
	if f := fault.Of(err); f != nil && len(f.Fields) > 0 {
		return f.At(path + "." + f.Fields[0].Path)
	}
	return err
}

// askedFor is a product that a request names in a field; in none, it is one of the plan,
// and may be gone.
type askedFor struct {
	field   string
	product id.ID
}

func decodeChoices(field string, choices []*workflowv1.ChosenProduct) (out []workflow.PlanChoice, asked []askedFor, err error) {
	for i, c := range choices {
		at := fmt.Sprintf("%s[%d].product", field, i)
		product, err := id.One(at, c.Product, "products")
		if err != nil {
			return nil, nil, err
		}
		out, asked = append(out, workflow.PlanChoice{Use: uses[c.Use], Product: product}), append(asked, askedFor{at, product})
	}
	return out, asked, nil
}

// productsOf are the products that stages name.
func productsOf(stages []workflow.PlanStage) (asked []askedFor) {
	for i, st := range stages {
		if st.Product != id.Nil {
			asked = append(asked, askedFor{fmt.Sprintf("stages[%d].product", i), st.Product})
		}
	}
	return asked
}

// products asks materials for each product once. Fault: PRODUCT_NOT_FOUND, at the field.
func (s *Server) products(ctx context.Context, asked []askedFor) (out []workflow.PlanProduct, err error) {
	seen := map[id.ID]bool{}
	for _, a := range asked {
		if seen[a.product] {
			continue
		}
		seen[a.product] = true
		resp, err := s.Materials.GetProduct(ctx, &materialsv1.GetProductRequest{Name: id.Name("products", a.product)})
		if f := fault.Of(err); f != nil && f.Reason == "PRODUCT_NOT_FOUND" {
			if a.field == "" {
				continue
			}
			return nil, f.At(a.field)
		}
		if err != nil {
			return nil, err
		}
		p, err := decodeProduct(a.product, resp.Product)
		if err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, nil
}
