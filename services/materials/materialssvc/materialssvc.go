// Package materialssvc wires the materials service together: the only part of it that
// others may import.
package materialssvc

import (
	"context"

	"tackfree/pkg/boot"
	"tackfree/pkg/id"
	"tackfree/pkg/inbox"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/materials/internal/consume"
	"tackfree/services/materials/internal/server"
	"tackfree/services/materials/internal/store"
)

// Name is the service's name: its schema, its role, its consumer and its events' producer.
const Name = "materials"

// Run serves until ctx ends.
func Run(ctx context.Context, c boot.Config, d boot.Deps) error {
	s, err := boot.Open(ctx, Name, c, d, boot.Parts{
		Migrations: store.Migrations, Constraints: store.Constraints, Producer: true, Consumer: true})
	if err != nil {
		return err
	}
	workflow, err := s.Peer("workflow")
	if err != nil {
		return err
	}
	intake, err := s.Peer("intake")
	if err != nil {
		return err
	}
	sales, err := s.Peer("sales")
	if err != nil {
		return err
	}
	srv := &server.Server{
		DB: s.DB, Log: s.Log, Shop: s.Shop, Stop: ctx.Done(),
		Workflow: workflowv1.NewStageServiceClient(workflow), Batches: workflowv1.NewBatchServiceClient(workflow),
		People: workflowv1.NewPeopleServiceClient(workflow), Intake: intakev1.NewIntakeServiceClient(intake)}
	srv.Register(s.GRPC)
	producers := map[string]eventsv1.EventLogServiceClient{
		"workflow": eventsv1.NewEventLogServiceClient(workflow), "intake": eventsv1.NewEventLogServiceClient(intake),
		"sales": eventsv1.NewEventLogServiceClient(sales)}
	keeper := &consume.Keeper{}
	handler := consume.Handler{Zone: s.Shop.Zone, Rebuild: keeper.Rebuild, Changed: func(products []id.ID) { srv.Changed(products...) }}
	keeper.Inbox = inbox.New(s.DB, Name, producers, handler, c.Reconcile, s.Logger)
	s.Follow(keeper.Inbox, "tackfree.v1.workflow.>", "tackfree.v1.intake.>", "tackfree.v1.sales.>")
	if c.Alerts >= 0 {
		s.Go(func(ctx context.Context) { srv.KeepAlerts(ctx, c.Alerts, s.Logger) })
	}
	return s.Run(ctx)
}
