// Package intakesvc wires the intake service together: the only part of it that others
// may import.
package intakesvc

import (
	"context"
	"errors"

	"tackfree/pkg/boot"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/intake/internal/album"
	"tackfree/services/intake/internal/server"
	"tackfree/services/intake/internal/store"
)

// Name is the service's name: its schema, its role and its events' producer.
const Name = "intake"

// Run serves until ctx ends.
func Run(ctx context.Context, c boot.Config, d boot.Deps) (err error) {
	photos, err := album.At(ctx, c.PhotosURL)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, photos.Close()) }()
	s, err := boot.Open(ctx, Name, c, d, boot.Parts{
		Migrations: store.Migrations, Constraints: store.Constraints, Producer: true})
	if err != nil {
		return err
	}
	sales, err := s.Peer("sales")
	if err != nil {
		return err
	}
	workflow, err := s.Peer("workflow")
	if err != nil {
		return err
	}
	materials, err := s.Peer("materials")
	if err != nil {
		return err
	}
	srv := &server.Server{DB: s.DB, Log: s.Log, Shop: s.Shop, Sales: salesv1.NewSalesServiceClient(sales), SoldPieces: salesv1.NewSalesServiceClient(sales), Prices: salesv1.NewPriceAdviceServiceClient(sales),
		Estimates: workflowv1.NewEstimateServiceClient(workflow), Materials: materialsv1.NewMaterialsServiceClient(materials),
		Finishes: workflowv1.NewFinishServiceClient(workflow), Planning: workflowv1.NewPlanningServiceClient(workflow), Clocks: workflowv1.NewClockServiceClient(workflow), Darkroom: server.NewDarkroom(photos)}
	srv.Register(s.GRPC)
	s.Go(func(ctx context.Context) { srv.KeepSwept(ctx, s.Logger) })
	s.Go(func(ctx context.Context) { srv.KeepFinished(ctx, s.Logger) })
	return s.Run(ctx)
}
