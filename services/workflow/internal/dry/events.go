package dry

import (
	"context"
	"time"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/id"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	"tackfree/services/workflow/internal/workflow"
)

// Append writes the event of a piece of news, as the piece's next version.
func Append(ctx context.Context, tx *pg.Tx, log *outbox.Log, plan *workflow.Plan, n workflow.News, now time.Time) error {
	plan.Piece.Version++
	return log.Append(ctx, tx, outbox.Event{Kind: "piece", Aggregate: plan.Piece.ID, Version: plan.Piece.Version, Piece: plan.Piece.ID,
		OccurredAt: n.At, Payload: payload(n)}, now)
}

func payload(n workflow.News) proto.Message {
	c, part := n.Clock, ""
	if c.Part != id.Nil {
		part = c.Part.String()
	}
	ready := c.Ready()
	switch n.What {
	case workflow.PartIsReady:
		return &eventsv1.PartReady{StageId: c.Stage.String(), PartId: part, Needs: string(c.Needs), Ready: wire.ToInstant(ready.Likely)}
	case workflow.WindowCloses:
		return &eventsv1.RecoatWindowClosing{StageId: c.Stage.String(), PartId: part, WindowCloses: wire.ToInstant(c.Closes())}
	}
	return &eventsv1.PartDryForecastChanged{StageId: c.Stage.String(), PartId: part, Needs: string(c.Needs), Ready: wire.ToInstant(ready.Likely),
		ReadyEarly: wire.ToInstant(ready.Early), ReadyLate: wire.ToInstant(ready.Late), WindowCloses: wire.ToInstant(c.Closes())}
}
