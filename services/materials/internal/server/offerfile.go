package server

import (
	"context"
	"errors"
	"slices"

	"google.golang.org/grpc"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// ExportOffers implements SupplierService.
func (s *Server) ExportOffers(_ *materialsv1.ExportOffersRequest, out grpc.ServerStreamingServer[materialsv1.ExportOffersResponse]) error {
	var lines []materials.OfferLine
	err := s.DB.View(out.Context(), func(q pg.Querier) (err error) {
		lines, err = store.New(q).AllOffers(out.Context())
		return err
	})
	if err != nil {
		return err
	}
	for csv := range slices.Chunk(materials.WriteOffers(lines, s.Shop.Currency), part) {
		if err := out.Send(&materialsv1.ExportOffersResponse{Csv: csv}); err != nil {
			return err
		}
	}
	return nil
}

// ImportOffers implements SupplierService. A dry run reads and does not lock.
func (s *Server) ImportOffers(in grpc.ClientStreamingServer[materialsv1.ImportOffersRequest, materialsv1.ImportOffersResponse]) error {
	r, err := wholeFile(in, func(r *materialsv1.ImportOffersRequest) *[]byte { return &r.Csv })
	if err != nil {
		return err
	}
	file, err := materials.ReadOffers(r.Csv, spelling, s.Shop.Currency)
	if err != nil {
		return err
	}
	by := caller.Of(in.Context())
	by.RequestID = r.RequestId
	answer, err := s.importOffers(caller.With(in.Context(), by), r, file)
	var no rejected
	if errors.As(err, &no) {
		answer, err = &materialsv1.ImportOffersResponse{RejectionCount: int32(len(no.all)), Rejections: no.encode()}, nil
	}
	if err != nil {
		return err
	}
	return in.SendAndClose(answer)
}

func (s *Server) importOffers(ctx context.Context, r *materialsv1.ImportOffersRequest, file materials.OfferFile) (answer *materialsv1.ImportOffersResponse, err error) {
	if r.DryRun {
		err = s.DB.Snapshot(ctx, func(q pg.Querier) error {
			plan, err := offersOf(ctx, file, store.New(q).Offering)
			answer = offerOutcome(plan, false)
			return err
		})
		return answer, err
	}
	return once.Do(ctx, s.DB, r, s.Shop.Now(), func(ctx context.Context, tx *pg.Tx) (*materialsv1.ImportOffersResponse, error) {
		plan, err := offersOf(ctx, file, store.New(tx).LockOffering)
		if err != nil {
			return nil, err
		}
		for _, step := range plan.Steps {
			if err := s.takeStep(ctx, tx, step); err != nil {
				return nil, err
			}
		}
		return offerOutcome(plan, true), nil
	})
}

// offersOf compares a file with what is known of its suppliers and products.
func offersOf(ctx context.Context, file materials.OfferFile, read func(ctx context.Context, suppliers, products []string) (materials.Offering, error)) (materials.OfferPlan, error) {
	known, err := read(ctx, file.Suppliers(), file.Products())
	if err != nil {
		return materials.OfferPlan{}, err
	}
	plan, wrong := file.Plan(known, id.New)
	if len(wrong) > 0 {
		return plan, rejected{wrong}
	}
	return plan, nil
}

// takeStep writes and tells one thing that a file does.
func (s *Server) takeStep(ctx context.Context, tx *pg.Tx, step materials.OfferStep) error {
	st, now := store.New(tx), s.Shop.Now()
	switch {
	case step.Offer != nil:
		return errors.Join(st.SetOffer(ctx, step.Supplier, *step.Offer), s.tellSupplier(ctx, tx, step.Supplier, s.offerSet(step.Product, step.Supplier, *step.Offer), now))
	case step.New:
		return errors.Join(st.InsertSupplier(ctx, step.Supplier), s.tellSupplier(ctx, tx, step.Supplier, supplierSaved(step.Supplier), now))
	}
	return errors.Join(st.UpdateSupplier(ctx, step.Supplier), s.tellSupplier(ctx, tx, step.Supplier, supplierSaved(step.Supplier), now))
}

// offerOutcome counts what a plan does.
func offerOutcome(p materials.OfferPlan, applied bool) *materialsv1.ImportOffersResponse {
	return &materialsv1.ImportOffersResponse{Applied: applied, Added: int32(p.Added), Changed: int32(p.Changed), Unchanged: int32(p.Unchanged)}
}
