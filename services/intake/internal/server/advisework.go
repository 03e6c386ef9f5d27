package server

import (
	"context"
	"regexp"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/intake/internal/intake"
)

// work asks workflow what it is to do, and materials what that takes costs.
func (s *Server) work(ctx context.Context, sighting intake.Sighting, by intake.GoneBy) (w intake.Work, needs []intake.Need, err error) {
	r, err := s.Estimates.EstimateFinish(ctx, estimateOf(sighting, by))
	if err != nil {
		return w, nil, ofSighting(err, workFields)
	}
	w = intake.Work{Minutes: r.AttendedMinutes, Low: r.AttendedMinutesLow, High: r.AttendedMinutesHigh, Learned: r.AttendedMinutesLearned, LeastDays: r.LeastDays, Stages: r.Stages}
	for _, c := range r.Cautions {
		w.Hazards = append(w.Hazards, intake.Hazard{ID: c.Id, Says: c.Text})
	}
	needs, err = s.pricedAll(ctx, r.Needs)
	return w, needs, err
}

// pricedAll asks what each of several products costs.
func (s *Server) pricedAll(ctx context.Context, all []*workflowv1.MaterialNeed) ([]intake.Need, error) {
	needs := make([]intake.Need, len(all))
	asking, asked := errgroup.WithContext(ctx)
	asking.SetLimit(8)
	for i, n := range all {
		asking.Go(func() (err error) {
			needs[i], err = s.priced(asked, n)
			return err
		})
	}
	return needs, asking.Wait()
}

func estimateOf(sighting intake.Sighting, by intake.GoneBy) *workflowv1.EstimateFinishRequest {
	out := &workflowv1.EstimateFinishRequest{}
	for _, part := range by.Measured {
		assessed := &workflowv1.Assessment{Material: named(materials, sighting.Material), Species: sighting.Species,
			OldFinish: string(sighting.OldFinish), PaintedIn: int32(sighting.PaintedIn)}
		for _, d := range part.Defects {
			assessed.Defects = append(assessed.Defects, string(d))
		}
		out.Parts = append(out.Parts, &workflowv1.PartToEstimate{Label: part.Label, AreaM2: part.AreaM2, Assessment: assessed, Look: sighting.Look})
	}
	return out
}

var materials = map[workflowv1.Assessment_Material]finish.Material{
	workflowv1.Assessment_MATERIAL_SOLID_WOOD: finish.SolidWood, workflowv1.Assessment_MATERIAL_VENEER: finish.Veneer, workflowv1.Assessment_MATERIAL_MDF: finish.MDF,
	workflowv1.Assessment_MATERIAL_LAMINATE: finish.Laminate, workflowv1.Assessment_MATERIAL_METAL: finish.Metal,
}

// workFields are where in a sighting somebody said what workflow finds at fault.
var workFields = map[string]string{
	"look": "sighting.look", "species": "sighting.species", "old_finish": "sighting.old_finish", "painted_in": "sighting.painted_in",
	"defects": "sighting.defects", "material": "sighting.material", "area_m2": "sighting.parts", "label": "sighting.parts", "parts": "sighting.parts",
	"LOOK_UNKNOWN": "sighting.look", "PLAN_IMPOSSIBLE": "sighting.look",
}

// lastWord is that of a path, without its place in a list.
var lastWord = regexp.MustCompile(`(\w+)(\[\d+\])?$`)

// ofSighting says what another service refuses at the field as this request knows it: by the last word
// of its path, else by its reason; at none where it is about nothing of this request.
func ofSighting(err error, fields map[string]string) error {
	f := fault.Of(err)
	if f == nil {
		return err
	}
	field := fields[f.Reason]
	if len(f.Fields) > 0 {
		if m := lastWord.FindStringSubmatch(f.Fields[0].Path); m != nil && fields[m[1]] != "" {
			field = fields[m[1]]
		}
	}
	if field != "" {
		return f.At(field)
	}
	bare := *f
	bare.Fields = nil
	return &bare
}
