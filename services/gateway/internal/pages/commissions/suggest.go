package commissions

import (
	"cmp"
	"net/url"
	"slices"
	"strings"

	"tackfree/pkg/finish"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// choice is one thing that can be chosen.
type choice struct {
	Value, Text string
	On          bool
}

// wanted is what is asked of a piece that has no finish plan.
type wanted struct{ Kinds, Sizes, Materials, Olds, Looks []choice }

// materials are those of the contract.
var materials = []string{"solid wood", "veneer", "MDF", "laminate", "metal"}

// looks are what a piece may become, as finish plans call it.
var looks = []finish.Look{finish.Painted, finish.Stained, finish.Clear, finish.Oiled, finish.Glazed, finish.TwoTone, finish.Toned, finish.Limewashed, finish.Ebonised}

func wantedOf(v *words.Voice, q url.Values) (w wanted) {
	for _, k := range typed.Kinds {
		w.Kinds = append(w.Kinds, choice{k, v.Word("piece", k), q.Get("want_kind") == k})
	}
	for _, s := range typed.SizeWords {
		w.Sizes = append(w.Sizes, choice{s, v.T("buying.size." + s), q.Get("want_size") == s})
	}
	for _, m := range materials {
		w.Materials = append(w.Materials, choice{m, v.T("buying.material." + slug(m)), q.Get("want_material") == m})
	}
	for _, f := range append([]finish.Family{finish.UnknownFinish}, finish.Families()...) {
		w.Olds = append(w.Olds, choice{string(f), v.Word("film", filmWord(f)), q.Get("want_old") == string(f)})
	}
	for _, l := range looks {
		w.Looks = append(w.Looks, choice{string(l), v.T("buying.look." + slug(string(l))), q.Get("want_look") == string(l)})
	}
	return w
}

// filmWords are the catalogue's words of old finishes, where they are others than finish plans have.
var filmWords = map[finish.Family]string{finish.OilVarnish: "oil_varnish", finish.OilPolyurethane: "oil_polyurethane", finish.WaterAcrylic: "water_acrylic", finish.WaterPolyurethane: "water_polyurethane",
	finish.ChalkPaint: "chalk_paint", finish.Latex: "latex"}

func filmWord(f finish.Family) string { return cmp.Or(filmWords[f], slug(string(f))) }

// slug makes an end of a key of what finish plans say with blanks.
func slug(word string) string {
	return strings.ToLower(strings.ReplaceAll(strings.ReplaceAll(word, " ", "_"), "-", "_"))
}

// suggested asks intake for lines: by what is wanted where a look is chosen, and else by the finish plan of the piece. Faults:
// those of SuggestEstimate.
func (d *draft) suggested(a *web.Asked) (rows []lineRow, says []string, err error) {
	r := &intakev1.SuggestEstimateRequest{Piece: d.Order.GetPiece()}
	if r.Piece == "" {
		if r.Piece, err = pieceNamed(a, a.Typed("piece")); err != nil {
			return nil, nil, err
		}
	}
	if look := a.Typed("want_look"); look != "" {
		r.Wanted = &intakev1.WorkWanted{Kind: a.Typed("want_kind"), Size: typed.Sizes[a.Typed("want_size")], Material: cmp.Or(a.Typed("want_material"), materials[0]), OldFinish: a.Typed("want_old"), Look: look}
	}
	s, err := a.Kit.Suite.Commissions.SuggestEstimate(a.Context(), r)
	if err != nil {
		return nil, nil, err
	}
	if day := typed.Day(s.GetDraft().GetPromised()); day != "" && a.Typed("promised") == "" {
		d.Values = cloned(d.Values)
		d.Values.Set("promised", day)
	}
	return rowsOf(a.Voice, s.GetDraft().GetLines()), basisSays(a.Voice, s), nil
}

func cloned(q url.Values) url.Values {
	out := url.Values{}
	for k, all := range q {
		out[k] = slices.Clone(all)
	}
	return out
}

// basisSays is what a suggestion rests on, and what whoever does the work must know.
func basisSays(v *words.Voice, s *intakev1.SuggestEstimateResponse) (out []string) {
	b := s.GetBasis()
	if b.GetFinishPlan() != "" {
		out = append(out, v.N("commissions.basis.plan", int(b.GetStages())))
	} else {
		out = append(out, v.N("commissions.basis.usual", int(b.GetStages())))
	}
	if b.GetMinutes() > 0 {
		out = append(out, v.T("commissions.basis.learned", b.GetMinutesLearned(), b.GetMinutes()))
	}
	if len(b.GetUnpriced()) > 0 {
		out = append(out, v.T("commissions.basis.unpriced", strings.Join(b.Unpriced, ", ")))
	}
	for _, h := range s.GetHazards() {
		out = append(out, v.Caution(h.Id, h.Says))
	}
	return out
}
