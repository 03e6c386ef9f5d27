// Package salessvc wires the sales service together: the only part of it that others
// may import.
package salessvc

import (
	"context"

	"tackfree/pkg/boot"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/sales/internal/server"
	"tackfree/services/sales/internal/store"
)

// Name is the service's name: its schema, its role and its events' producer.
const Name = "sales"

// Run serves until ctx ends.
func Run(ctx context.Context, c boot.Config, d boot.Deps) error {
	s, err := boot.Open(ctx, Name, c, d, boot.Parts{
		Migrations: store.Migrations, Constraints: store.Constraints, Producer: true})
	if err != nil {
		return err
	}
	intake, err := s.Peer("intake")
	if err != nil {
		return err
	}
	srv := &server.Server{DB: s.DB, Log: s.Log, Shop: s.Shop, Intake: intakev1.NewIntakeServiceClient(intake)}
	srv.Register(s.GRPC)
	return s.Run(ctx)
}
