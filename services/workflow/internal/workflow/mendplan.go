package workflow

import (
	"fmt"
	"slices"
	"time"

	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// StandingPlan is a plan of what was done on a piece that has none, so that what is put over it can be judged: of
// each part an old finish that nobody knows, and over it the stages as they are. It is of no version and not kept.
func StandingPlan(p Plan, parts []Part) FinishPlan {
	out := FinishPlan{Piece: p.Piece.ID, State: PlanApproved}
	areas := map[id.ID]float64{}
	for _, s := range p.Stages {
		areas[s.Part] = max(areas[s.Part], s.AreaM2)
		if s.Part != id.Nil && !slices.ContainsFunc(parts, func(o Part) bool { return o.ID == s.Part }) {
			parts = append(parts, Part{ID: s.Part, Label: s.PartLabel})
		}
	}
	for _, part := range parts {
		out.Parts = append(out.Parts, PlanPart{ID: part.ID, Label: part.Label, Material: finish.SolidWood, OldFinish: finish.UnknownFinish, AreaM2: areas[part.ID]})
	}
	titles := map[id.ID]string{}
	for _, s := range p.Stages {
		titles[s.ID] = s.Title()
		ps := PlanStage{ID: s.ID, Part: s.PartLabel, Key: s.Key, Kind: finish.Kind(s.Kind), Grit: s.Grit, Product: s.Product, ProductName: s.ProductName, Skill: s.Skill, Station: s.Station,
			Attended: s.Attended, Unattended: s.Unattended, Latest: s.Latest, Needs: s.Needs, Cautions: s.Cautions, Why: s.Why}
		for _, before := range s.After {
			ps.After = append(ps.After, titles[before])
		}
		out.Stages = append(out.Stages, ps)
	}
	return out
}

// Mended is what a mending makes of a plan.
type Mended struct {
	Amendment
	Findings []PlanFinding // at stages that mend
}

// Mend makes the next version of the plan, with stages that mend behind what was done on their parts; each is in its
// second pass from the beginning, since came back. Products are those of the plan and of the mending, as they are
// now. Faults: PART_UNKNOWN, PRODUCT_NOT_FOUND, COATING_SHEET_MISSING, GRIT_UNKNOWN, PLAN_TOO_LARGE, OVERRIDE_UNKNOWN, RULE_BROKEN.
func (p FinishPlan) Mend(f Floor, mendings []Mending, e Edits, l *Labour, now time.Time) (Mended, error) {
	if err := tooLarge(len(p.Stages) + len(mendings)); err != nil {
		return Mended{}, err
	}
	body := p.PlanBody
	body.know(e.Products)
	all := make([]PlanStage, 0, len(p.Stages)+len(mendings))
	for _, s := range p.Stages {
		all = append(all, p.kept(s))
	}
	added, err := body.mending(f, mendings, l)
	if err != nil {
		return Mended{}, err
	}
	if err := body.put(append(all, added...)); err != nil {
		return Mended{}, err
	}
	found, err := body.overWhatIsThere(f, added, now)
	if err != nil {
		return Mended{}, err
	}
	body.Findings = found
	if err := body.Answer(e.Overrides); err != nil {
		return Mended{}, err
	}
	if err := body.broken(); err != nil {
		return Mended{}, err
	}
	found = body.Findings
	body.Findings = slices.Concat(p.Findings, found)
	if err := body.measure(l, f.Begun); err != nil {
		return Mended{}, err
	}
	next := p
	next.PlanBody = body
	if next.Version > 0 {
		next.Version++
	}
	return Mended{Amendment{Plan: next, before: p.Stages}, found}, nil
}

// mending makes stages of what mends, one after the other on each part.
func (b *PlanBody) mending(f Floor, mendings []Mending, l *Labour) (out []PlanStage, err error) {
	taken := map[[2]string]bool{}
	for _, s := range b.Stages {
		taken[s.place()] = true
	}
	for i, m := range mendings {
		s := PlanStage{Part: m.Part, Key: againKey(m.Kind, m.Part, taken), Kind: m.Kind, Grit: grit(m.Kind, m.Grit), Product: m.Product, Skill: m.Skill, Station: m.Station,
			Attended: m.Attended, Unattended: m.Unattended, Why: "it came back and is mended"}
		s.After = behind(f, out, m.Part)
		if s, err = b.complete(s, PlanStage{}, PlanBody{}, i); err != nil {
			return nil, err
		}
		if err := b.usual(&s, l); err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, nil
}

// behind are the titles of what a mending comes after: the last one on its part, or, of the first, what was done
// there last. One of the whole piece comes after all.
func behind(f Floor, mending []PlanStage, part string) (titles []string) {
	ends := map[string]string{}
	for _, m := range mending {
		if part == "" || m.Part == part || m.Part == "" {
			ends[m.Part] = m.Title()
		}
	}
	for _, m := range mending {
		if ends[m.Part] == m.Title() {
			titles = append(titles, m.Title())
		}
	}
	if len(titles) > 0 {
		return titles
	}
	for _, s := range f.Stages {
		on := part == "" || s.PartLabel == part || s.PartLabel == ""
		built := slices.ContainsFunc(f.Stages, func(o Stage) bool {
			return o.Finished() && slices.Contains(o.After, s.ID) && (part == "" || o.PartLabel == part || o.PartLabel == "")
		})
		if on && s.Finished() && !built {
			titles = append(titles, s.Title())
		}
	}
	return titles
}

// usual fills in what nobody said of a stage: hands, drying, skill and station, as they are usual here.
func (b *PlanBody) usual(s *PlanStage, l *Labour) error {
	step, err := b.step(*s)
	if err != nil {
		return err
	}
	part, _ := b.part(s.Part)
	if s.Attended == 0 {
		usual, err := step.Attended(part.AreaM2)
		if err != nil {
			return err
		}
		if s.Attended, err = l.attended(s.Kind, usual); err != nil {
			return err
		}
	}
	if s.Unattended == 0 {
		s.Unattended = max(s.Kind.Rests(), step.Product.Recoat)
	}
	if s.Kind.LeavesFilm() {
		s.Latest = step.Product.RecoatCloses
	}
	if s.Skill == "" {
		s.Skill = step.Skill()
	}
	if s.Station == "" {
		s.Station = step.Station()
	}
	return nil
}

// unknownCoat is a kind that the rules pass over: a coat of which no product is known.
const unknownCoat finish.Kind = "unknown_coat"

// overWhatIsThere lists the rules that stages which mend break, over the films that were laid, which have stood since.
func (b PlanBody) overWhatIsThere(f Floor, added []PlanStage, now time.Time) (found []PlanFinding, err error) {
	mends, stays := map[string]bool{}, map[string]bool{}
	for _, s := range added {
		mends[s.Title()] = true
	}
	all := b.Stages
	b.Stages = nil
	for _, s := range slices.Backward(all) { // what lies below a film that nobody knows does not matter
		done, err := f.Stage(s.ID)
		if s.ID != id.Nil && (err != nil || !done.Finished() || stays[s.Part] || stays[""]) {
			continue
		}
		if s.ID != id.Nil {
			s.Unattended = max(s.Unattended, now.Sub(done.FinishedAt))
			s.Grit = grit(s.Kind, s.Grit)
			if used := b.used(s); (s.Kind.LeavesFilm() || s.Kind == finish.SpotSeal) && (used.Recoat == 0 || used.Cure == 0) {
				s.Kind, stays[s.Part] = unknownCoat, true
			}
		}
		b.Stages = append(b.Stages, s)
	}
	slices.Reverse(b.Stages)
	if len(b.Parts) == 0 {
		b.Parts = []PlanPart{{Label: "all of it", Material: finish.SolidWood, OldFinish: finish.UnknownFinish}}
	}
	b.loosen(stays)
	if err := b.judge(); err != nil {
		return nil, err
	}
	return slices.DeleteFunc(b.Findings, func(p PlanFinding) bool { return !mends[p.Stage] }), nil
}

// loosen forgets what stages came after that are not judged, and what old finish was below a film that nobody knows.
func (b *PlanBody) loosen(unknown map[string]bool) {
	there := map[string]bool{}
	for _, s := range b.Stages {
		there[s.Title()] = true
	}
	for i, s := range b.Stages {
		b.Stages[i].After = slices.DeleteFunc(slices.Clone(s.After), func(title string) bool { return !there[title] })
	}
	b.Parts = slices.Clone(b.Parts)
	for i, p := range b.Parts {
		if unknown[p.Label] || unknown[""] {
			b.Parts[i].OldFinish, b.Parts[i].OldWax = finish.UnknownFinish, false
		}
	}
}

// Approve makes it the piece's stages; since is when it came back.
func (m *Mended) Approve(f Floor, c Comeback, actor string, now time.Time, newID func() id.ID) {
	m.Amendment.Approve(f, actor, fmt.Sprintf("piece %d came back", c.Tag), now, newID)
	for i := range m.Added {
		m.Added[i].SentBack = []time.Time{c.ReportedAt.UTC()}
	}
}

// HeldFloor is a floor on which nothing that is there can be changed.
func HeldFloor(p Plan) Floor {
	f := Floor{Plan: p, Begun: map[id.ID]bool{}}
	for _, s := range f.Stages {
		f.Begun[s.ID] = true
	}
	return f
}

// Without is the next version of the plan, without stages of it that are no more.
func (p FinishPlan) Without(gone []id.ID, actor, reason string, now time.Time) FinishPlan {
	titles := map[string]bool{}
	for _, s := range p.Stages {
		titles[s.Title()] = slices.Contains(gone, s.ID)
	}
	left := func(title string) bool { return titles[title] }
	p.Stages = slices.DeleteFunc(slices.Clone(p.Stages), func(s PlanStage) bool { return left(s.Title()) })
	for i, s := range p.Stages {
		p.Stages[i].After = slices.DeleteFunc(slices.Clone(s.After), left)
	}
	p.Findings = slices.DeleteFunc(slices.Clone(p.Findings), func(f PlanFinding) bool { return left(f.Stage) })
	p.Version++
	p.Actor, p.Reason, p.DraftedAt, p.ApprovedAt = actor, reason, now, now
	return p
}
