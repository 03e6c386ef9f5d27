package server

import (
	"time"

	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/drying"
	"tackfree/pkg/id"
	"tackfree/pkg/wire"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/workflow/internal/workflow"
)

var dryKinds = map[workflow.DryKind]workflowv1.DryClock_Kind{
	workflow.FilmDries: workflowv1.DryClock_KIND_FILM, workflow.WoodDries: workflowv1.DryClock_KIND_WOOD, workflow.MinutesPass: workflowv1.DryClock_KIND_MINUTES,
}

func encodeDryClock(c workflow.DryClock, now time.Time) *workflowv1.DryClock {
	ready := c.Ready()
	out := &workflowv1.DryClock{
		Stage: id.Name("pieces", c.Piece, "stages", c.Stage), StageTitle: c.StageTitle, StageKind: c.StageKind, PieceTag: c.PieceTag, PartLabel: c.PartLabel,
		Kind: dryKinds[c.Kind], ProductName: c.ProductName, Zone: zoneName(c.ZoneWord), LaidTime: wire.ToInstant(c.Laid),
		Needs: dryStates[c.Needs], Ready: encodeWindow(ready), IsReady: c.IsReady(now),
	}
	if c.Part != id.Nil {
		out.Part = id.Name("pieces", c.Piece, "parts", c.Part)
	}
	encodePace(out, c.Pace())
	if c.Kind == workflow.FilmDries {
		encodeMilestones(out, c.Windows)
	}
	return out
}

func encodePace(out *workflowv1.DryClock, p workflow.Pace) {
	if p.Stated > 0 {
		out.StatedTime = durationpb.New(p.Stated)
	}
	out.FilmSlows, out.ShopSlows = p.Film, p.Shop
}

func encodeMilestones(out *workflowv1.DryClock, windows map[drying.Milestone]drying.Window) {
	for m, to := range map[drying.Milestone]**workflowv1.DryWindow{
		drying.SetToTouch: &out.SetToTouch, drying.TackFree: &out.TackFree, drying.DryToSand: &out.Sand,
		drying.DryToRecoat: &out.Recoat, drying.RecoatCloses: &out.RecoatCloses, drying.Cured: &out.Cured,
	} {
		if w, stated := windows[m]; stated {
			*to = encodeWindow(w)
		}
	}
}

// encodeWindow leaves a time out that is never.
func encodeWindow(w drying.Window) *workflowv1.DryWindow {
	return &workflowv1.DryWindow{EarlyTime: wire.ToInstant(w.Early), LikelyTime: wire.ToInstant(w.Likely), LateTime: wire.ToInstant(w.Late)}
}
