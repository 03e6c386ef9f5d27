package bench

import (
	"cmp"
	"context"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	idpkg "tackfree/pkg/id"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// taking is the page on which somebody takes material.
type taking struct {
	Search   string
	Found    []*materialsv1.Product // by what was typed, or all
	Product  *materialsv1.Product   // none: it is still to be chosen
	Piece    string                 // the tag that was typed or scanned
	Stages   []choice
	Stage    string
	Amount   string
	Unit     string
	Units    []string
	Override string
}

// choice is a stage that material can go to.
type choice struct{ Stage, Title string }

// can is where the code on a can leads.
func can(w http.ResponseWriter, a *web.Asked) error {
	http.Redirect(w, a.Request, "/bench/take?can="+a.PathValue("id"), http.StatusSeeOther)
	return nil
}

func take(w http.ResponseWriter, a *web.Asked) error {
	q := a.URL.Query()
	t := taking{Search: strings.TrimSpace(q.Get("search")), Piece: strings.TrimSpace(q.Get("piece")), Stage: q.Get("stage")}
	return showTaking(w, a, t, q.Get("can"), nil)
}

func showTaking(w http.ResponseWriter, a *web.Asked, t taking, product string, refused error) error {
	g, ctx := errgroup.WithContext(a.Context())
	g.Go(func() error { return t.readProduct(ctx, a.Kit.Suite, product) })
	g.Go(func() error { return t.readStages(ctx, a) })
	if err := g.Wait(); err != nil {
		return err
	}
	if t.Product != nil {
		t.Units = unitsOf(t.Product.Unit, a.Voice.Units)
		t.Unit = cmp.Or(t.Unit, t.Units[0])
	}
	return a.ShowRefused(w, "benchtake", a.Voice.T("bench.take.title"), t, refused)
}

// mostFound is how many products a search shows.
const mostFound = 30

func (t *taking) readProduct(ctx context.Context, s *clients.Suite, id string) error {
	if id != "" {
		r, err := s.Materials.GetProduct(ctx, &materialsv1.GetProductRequest{Name: "products/" + id})
		if fault.Is(err, "INVALID_NAME") { // what is no id is that of no product
			r, err = s.Materials.GetProduct(ctx, &materialsv1.GetProductRequest{Name: idpkg.Name("products", idpkg.Nil)})
		}
		t.Product = r.GetProduct()
		return err
	}
	r, err := s.Materials.ListProducts(ctx, &materialsv1.ListProductsRequest{Search: t.Search, PageSize: mostFound})
	t.Found = r.GetProducts()
	return err
}

// readStages lists where material can go: what they are on, what is theirs, and the stages of a piece that
// they name. The first is what they are on.
func (t *taking) readStages(ctx context.Context, a *web.Asked) error {
	day, err := a.Kit.Suite.Floor.GetDay(ctx, &workflowv1.GetDayRequest{Person: a.User.Person})
	if err != nil {
		return err
	}
	for _, e := range slices.Concat(day.Running, day.Paused) {
		t.offer(e.Stage, title(e.PieceTag, a.Voice.Word("kind", e.StageKind)))
	}
	if t.Piece != "" {
		if err := t.readPiece(ctx, a); err != nil {
			return err
		}
	}
	for _, n := range day.Assigned {
		t.offer(n.Stage.Name, title(n.PieceTag, titleOf(n.Stage, a.Voice)))
	}
	return nil
}

func (t *taking) readPiece(ctx context.Context, a *web.Asked) error {
	tag := tagIn(t.Piece)
	piece, err := a.Kit.Suite.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: "pieces/tag:" + tag})
	if err != nil {
		return err
	}
	r, err := a.Kit.Suite.Stages.ListStages(ctx, &workflowv1.ListStagesRequest{Piece: piece.Piece.Name})
	if err != nil {
		return err
	}
	for _, st := range r.Stages {
		if st.State != workflowv1.Stage_STATE_FINISHED {
			t.offer(st.Name, tag+" · "+titleOf(st, a.Voice))
		}
	}
	return nil
}

func (t *taking) offer(stage, title string) {
	if stage != "" && !slices.ContainsFunc(t.Stages, func(c choice) bool { return c.Stage == stage }) {
		t.Stages = append(t.Stages, choice{stage, title})
	}
}

func title(tag int32, what string) string { return strconv.Itoa(int(tag)) + " · " + what }

// tagIn is the tag in what was typed or scanned: 412, or the whole address behind the piece's code.
func tagIn(typed string) string {
	if _, rest, has := strings.Cut(typed, "/pieces/"); has {
		typed = rest
	}
	return strings.Trim(typed, "/ #")
}

// unitsOf are the units in which a product that is counted in one is taken, the handiest first.
func unitsOf(counted string, u words.Units) []string {
	imperial := u == words.Imperial
	switch {
	case counted == "L" && imperial:
		return []string{"floz", "qt", "gal", "mL", "L"}
	case counted == "L":
		return []string{"mL", "L"}
	case counted == "g" && imperial:
		return []string{"oz", "lb", "g"}
	case counted == "g":
		return []string{"g", "kg"}
	case counted == "m" && imperial:
		return []string{"ft", "in", "m"}
	case counted == "m":
		return []string{"m", "cm"}
	}
	return []string{counted}
}

func issue(w http.ResponseWriter, a *web.Asked) error {
	t := taking{Piece: a.Typed("piece"), Stage: a.Typed("stage"), Amount: a.Typed("amount"), Unit: a.Typed("unit"), Override: a.Typed("override")}
	product, form := a.Typed("can"), &typed.Form{Values: a.PostForm, Voice: a.Voice}
	amount := form.Quantity("amount", "unit")
	if err := form.Err(); err != nil {
		return showTaking(w, a, t, product, err)
	}
	_, err := a.Kit.Suite.Materials.IssueMaterial(a.Context(), &materialsv1.IssueMaterialRequest{RequestId: a.RequestID(), Product: "products/" + product,
		Quantity: amount, Stage: t.Stage, OverrideReason: t.Override})
	if fault.Of(err) != nil {
		return showTaking(w, a, t, product, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/bench", "bench.take.done")
}
