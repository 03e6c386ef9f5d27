// Package salessvc wires the sales service together: the only part of it that others
// may import.
package salessvc

import (
	"context"

	"tackfree/pkg/boot"
	"tackfree/pkg/inbox"
	"tackfree/pkg/outbox"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/sales/internal/consume"
	"tackfree/services/sales/internal/lapse"
	"tackfree/services/sales/internal/markdown"
	"tackfree/services/sales/internal/server"
	"tackfree/services/sales/internal/store"
)

// Name is the service's name: its schema, its role, its consumer and its events' producer.
const Name = "sales"

// Run serves until ctx ends.
func Run(ctx context.Context, c boot.Config, d boot.Deps) error {
	s, err := boot.Open(ctx, Name, c, d, boot.Parts{
		Migrations: store.Migrations, Constraints: store.Constraints, Producer: true, Consumer: true})
	if err != nil {
		return err
	}
	intake, err := s.Peer("intake")
	if err != nil {
		return err
	}
	workflow, err := s.Peer("workflow")
	if err != nil {
		return err
	}
	srv := &server.Server{DB: s.DB, Log: s.Log, Shop: s.Shop, Intake: intakev1.NewIntakeServiceClient(intake), Prospects: intakev1.NewProspectServiceClient(intake),
		Photos: intakev1.NewPhotoServiceClient(intake), Stages: workflowv1.NewStageServiceClient(workflow)}
	srv.Register(s.GRPC)
	producers := map[string]eventsv1.EventLogServiceClient{
		"intake": eventsv1.NewEventLogServiceClient(intake), "workflow": eventsv1.NewEventLogServiceClient(workflow),
		Name: ownLog{outbox.NewServer(s.Log)}}
	keeper := &consume.Keeper{}
	keeper.Inbox = inbox.New(s.DB, Name, producers, consume.Handler{Shop: s.Shop, Rebuild: keeper.Rebuild}, c.Reconcile, s.Logger)
	s.Go((&markdown.Keeper{DB: s.DB, Log: s.Log, Shop: s.Shop, Logger: s.Logger}).Run)
	s.Go((&lapse.Keeper{DB: s.DB, Log: s.Log, Shop: s.Shop, Logger: s.Logger}).Run)
	s.Follow(keeper.Inbox, "tackfree.v1.intake.>", "tackfree.v1.workflow.>", "tackfree.v1.sales.>")
	return s.Run(ctx)
}
