package piece

import (
	"strconv"
	"strings"

	"golang.org/x/sync/errgroup"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/pages/piece/film"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// assessBand is what somebody saw of each part before work on it, with what was tested beside it.
type assessBand struct {
	Missing  bands.Missing
	Untested bands.Missing // why nothing is said of tests
	Path     string
	Parts    []assessedPart
	Not      int  // how many nobody looked at yet
	Gone     bool // it was given up: nothing is assessed any more
}

// assessedPart is one of them, in the reader's words; of what nobody looked at all but the label is empty.
type assessedPart struct {
	*intakev1.PartAssessment
	Made      string
	Old       string
	Put       string // when the old coating was put on
	Condition string
	Defects   []shownDefect
	Floor     string // how much of its veneer may be sanded off
	Lead      string // a key of the catalogue; empty: bare and untested
	Moisture  *workflowv1.Moisture
	Spot      string // what the spot tests say together
	Form      seenForm
}

type shownDefect struct {
	Kind, Severity, Where, Note string
	Photos                      []*intakev1.Photo // those that were not removed since
}

func loadAssessed(a *web.Asked, p *intakev1.Piece) (it assessBand, err error) {
	it.Path, it.Gone = pathOf(p), p.State == intakev1.Piece_STATE_SCRAPPED
	var seen *intakev1.GetAssessmentResponse
	var tests *workflowv1.ListPartTestsResponse
	var noTests error
	group, ctx := errgroup.WithContext(a.Context())
	group.Go(func() (err error) {
		seen, err = a.Kit.Suite.Assessments.GetAssessment(ctx, &intakev1.GetAssessmentRequest{Piece: p.Name})
		return err
	})
	group.Go(func() error {
		tests, noTests = a.Kit.Suite.Tests.ListPartTests(ctx, &workflowv1.ListPartTestsRequest{Piece: p.Name})
		return nil
	})
	if err := it.Missing.Of(group.Wait()); err != nil || it.Missing != "" {
		return it, err
	}
	if err := it.Untested.Of(unless(noTests, "PIECE_NOT_FOUND")); err != nil {
		return it, err
	}
	it.Not = int(seen.GetNotAssessed())
	for _, m := range seen.GetParts() {
		part := assessedOf(a.Voice, m)
		if it.Untested == "" {
			part.tested(a.Voice, tests)
		}
		it.Parts = append(it.Parts, part)
	}
	return it, nil
}

func assessedOf(v *words.Voice, m *intakev1.PartAssessment) assessedPart {
	out := assessedPart{PartAssessment: m, Form: formOfSeen(v, m)}
	s := m.Seen
	if s == nil {
		return out
	}
	out.Made = v.Word("buying.material", slug(s.Material))
	if s.Species != "" {
		out.Made += ", " + v.Word("species", s.Species)
	}
	out.Old, out.Put = lying(v, s), putOn(v, s)
	if s.Condition != typev1.PieceCondition_PIECE_CONDITION_UNSPECIFIED {
		out.Condition = v.Word("takein.condition", conditionWord(s.Condition))
	}
	for _, d := range s.Defects {
		out.Defects = append(out.Defects, shownDefect{Kind: v.Word("assess.defect", slug(d.Kind)), Severity: v.Word("assess.severity", severityWord(d.Severity)), Where: d.Where, Note: d.Note})
	}
	if f := m.VeneerFloor; f != nil {
		key := "assess.veneer.measured"
		if f.Presumed {
			key = "assess.veneer.presumed"
		}
		out.Floor = v.T(key, millimetres(v, f.Thickness)) + " " + v.T("assess.veneer.floor", millimetres(v, f.Sandable), millimetres(v, f.Floor)) + " " + v.T("assess.veneer.worn")
	}
	return out
}

// lying says what lies on a part and in it.
func lying(v *words.Voice, s *intakev1.PartSeen) string {
	said := []string{finishWord(v, s.OldFinish)}
	if s.Waxed {
		said = append(said, v.T("assess.waxed"))
	}
	if s.OldStain {
		said = append(said, v.T("assess.stained"))
	}
	return strings.Join(said, ", ")
}

func finishWord(v *words.Voice, family string) string {
	if family == bareWord {
		return v.T("buying.old.bare")
	}
	return v.Word("film", film.FamilyOf(family))
}

// putOn says when the old coating was put on; empty where there is none.
func putOn(v *words.Voice, s *intakev1.PartSeen) string {
	switch {
	case s.OldFinish == bareWord:
		return ""
	case s.PaintedIn == 0:
		return v.T("assess.painted.unknown")
	case s.PaintedInDecade:
		return v.T("assess.painted.decade", s.PaintedIn)
	}
	return v.T("assess.painted.year", s.PaintedIn)
}

// millimetres writes a thickness as calipers read it, in every system: no inch has a short name for it.
func millimetres(v *words.Voice, q *typev1.Quantity) string {
	return strings.Replace(q.GetValue(), ".", v.T("decimal.point"), 1) + " mm"
}

// tested puts beside a part what was tested on it.
func (p *assessedPart) tested(v *words.Voice, all *workflowv1.ListPartTestsResponse) {
	lead := film.LeadOf(all.GetTests(), p.Part)
	switch {
	case lead == film.LeadFree:
		p.Lead = "piece.test.lead.RESULT_FREE"
	case lead != film.LeadPresumed || p.Seen.GetOldFinish() != bareWord:
		p.Lead = "piece.lead." + string(lead)
	}
	for _, t := range testsOf(all.GetTests(), p.Part) {
		if m := t.GetMoisture(); m != nil {
			p.Moisture = m
			break // the newest comes first
		}
	}
	for _, r := range all.GetSpotReadings() {
		if r.Part == p.Part || r.Part == "" && p.Spot == "" {
			p.Spot = spotText(v, r)
		}
	}
}

// spotText says what spot tests tell together.
func spotText(v *words.Voice, r *workflowv1.SpotReading) string {
	var families, said []string
	for _, f := range r.OldFinishes {
		families = append(families, finishWord(v, f))
	}
	if len(families) > 0 {
		said = append(said, v.T("assess.spot.probably", strings.Join(families, v.T("assess.spot.or"))))
	}
	if r.Waxed {
		said = append(said, v.T("assess.spot.waxed"))
	}
	if r.NextSolvent != "" {
		said = append(said, v.T("assess.spot.next", v.Word("solvent", r.NextSolvent)))
	}
	if len(families) == 0 && r.NextSolvent == "" {
		said = append(said, v.T("assess.spot.contradict"))
	}
	return strings.Join(said, " ")
}

// show gives defects their photos, of those of the piece, and forms the choice of them.
func (b *assessBand) show(photos []*intakev1.Photo) {
	named := map[string]*intakev1.Photo{}
	for _, ph := range photos {
		named[ph.Name] = ph
	}
	for i := range b.Parts {
		p := &b.Parts[i]
		for n, d := range p.Seen.GetDefects() {
			for _, name := range d.Photos {
				if ph := named[name]; ph != nil {
					p.Defects[n].Photos = append(p.Defects[n].Photos, ph)
				}
			}
		}
		p.Form.photos(photos)
	}
}

func conditionWord(c typev1.PieceCondition) string {
	return strings.ToLower(strings.TrimPrefix(c.String(), "PIECE_CONDITION_"))
}

func severityWord(s intakev1.PartDefect_Severity) string {
	return strings.ToLower(strings.TrimPrefix(s.String(), "SEVERITY_"))
}

// yearText is a year as the form takes it: 1955, or 1950s.
func yearText(s *intakev1.PartSeen) string {
	switch {
	case s.GetPaintedIn() == 0:
		return ""
	case s.PaintedInDecade:
		return strconv.Itoa(int(s.PaintedIn)) + "s"
	}
	return strconv.Itoa(int(s.PaintedIn))
}
