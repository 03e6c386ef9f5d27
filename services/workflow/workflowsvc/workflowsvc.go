// Package workflowsvc wires the workflow service together: the only part of it that
// others may import.
package workflowsvc

import (
	"context"

	"tackfree/pkg/boot"
	"tackfree/pkg/inbox"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/workflow/internal/consume"
	"tackfree/services/workflow/internal/dry"
	"tackfree/services/workflow/internal/feed"
	"tackfree/services/workflow/internal/secret"
	"tackfree/services/workflow/internal/server"
	"tackfree/services/workflow/internal/shiftend"
	"tackfree/services/workflow/internal/store"
)

// Name is the service's name: its schema, its role and its events' producer.
const Name = "workflow"

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
	materials, err := s.Peer("materials")
	if err != nil {
		return err
	}
	sales, err := s.Peer("sales")
	if err != nil {
		return err
	}
	clocks := dry.New(s.DB, s.Log, s.Shop, s.Logger)
	srv := &server.Server{DB: s.DB, Log: s.Log, Shop: s.Shop, Intake: intakev1.NewIntakeServiceClient(intake), Assessments: intakev1.NewAssessmentServiceClient(intake),
		Materials: materialsv1.NewMaterialsServiceClient(materials), Key: s.Key, Secrets: secret.NewHasher(), Logger: s.Logger, Wake: clocks.Wake, Stop: ctx.Done()}
	srv.Hub = feed.NewHub(s.Log, srv.Say, s.Logger)
	srv.Register(s.GRPC)
	follow := map[string]eventsv1.EventLogServiceClient{"intake": eventsv1.NewEventLogServiceClient(intake), "sales": eventsv1.NewEventLogServiceClient(sales)}
	s.Follow(inbox.New(s.DB, Name, follow, consume.Handler{DB: s.DB, Schema: Name, Log: s.Log, Shop: s.Shop}, c.Reconcile, s.Logger), "tackfree.v1.intake.>", "tackfree.v1.sales.>")
	s.Go(clocks.Run)
	s.Go(srv.Hub.Run)
	s.Go((&shiftend.Keeper{DB: s.DB, Log: s.Log, Shop: s.Shop, Logger: s.Logger, Every: c.ShiftEnd}).Run)
	return s.Run(ctx)
}
