package server

import (
	"context"
	"errors"
	"io"
	"slices"

	"google.golang.org/grpc"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

const (
	// part is how many bytes of a file are sent at once.
	part = 256 << 10
	// mostRejections are as many as fit into one answer.
	mostRejections = 5000
)

var spelling = materials.Spelling{Name: wire.Name, Key: wire.NameKey}

// ExportProducts implements CatalogueService.
func (s *Server) ExportProducts(_ *materialsv1.ExportProductsRequest, out grpc.ServerStreamingServer[materialsv1.ExportProductsResponse]) error {
	var products []materials.Product
	err := s.DB.View(out.Context(), func(q pg.Querier) (err error) {
		products, err = store.New(q).All(out.Context())
		return err
	})
	if err != nil {
		return err
	}
	for csv := range slices.Chunk(materials.WriteCatalogue(products), part) {
		if err := out.Send(&materialsv1.ExportProductsResponse{Csv: csv}); err != nil {
			return err
		}
	}
	return nil
}

// ImportProducts implements CatalogueService. A dry run reads and does not lock.
func (s *Server) ImportProducts(in grpc.ClientStreamingServer[materialsv1.ImportProductsRequest, materialsv1.ImportProductsResponse]) error {
	r, err := wholeFile(in, func(r *materialsv1.ImportProductsRequest) *[]byte { return &r.Csv })
	if err != nil {
		return err
	}
	file, err := materials.ReadCatalogue(r.Csv, spelling)
	if err != nil {
		return err
	}
	by := caller.Of(in.Context())
	by.RequestID = r.RequestId
	answer, err := s.importProducts(caller.With(in.Context(), by), r, file)
	if err != nil {
		return err
	}
	return in.SendAndClose(answer)
}

// filePart is a part of a file that is sent.
type filePart interface {
	GetRequestId() string
	GetDryRun() bool
	GetCsv() []byte
}

// wholeFile puts the parts of a file together.
func wholeFile[R filePart](in interface{ Recv() (R, error) }, csv func(R) *[]byte) (R, error) {
	var none R
	whole, err := in.Recv()
	if errors.Is(err, io.EOF) {
		return none, fault.New(fault.Invalid, "FILE_EMPTY", "No part of a file came; send it again.").At("csv")
	}
	if err != nil {
		return none, err
	}
	for {
		next, err := in.Recv()
		if errors.Is(err, io.EOF) {
			return whole, nil
		}
		if err != nil {
			return none, err
		}
		if next.GetRequestId() != whole.GetRequestId() || next.GetDryRun() != whole.GetDryRun() {
			return none, fault.New(fault.Invalid, "PARTS_DIFFER", "The parts of a file are of one request, all tried out or none; send it again.").At("request_id")
		}
		all := csv(whole)
		if *all = append(*all, next.GetCsv()...); len(*all) > materials.MaxCatalogue {
			return whole, nil // more of it need not come: it will be refused
		}
	}
}

// rejected says that nothing was changed, for the file has rows that cannot be.
type rejected struct{ all []materials.Rejection }

func (rejected) Error() string { return "rows of the file were rejected" }

func (s *Server) importProducts(ctx context.Context, r *materialsv1.ImportProductsRequest, file materials.Catalogue) (*materialsv1.ImportProductsResponse, error) {
	answer, err := s.dryOrReal(ctx, r, file)
	var no rejected
	if !errors.As(err, &no) {
		return answer, err
	}
	return &materialsv1.ImportProductsResponse{RejectionCount: int32(len(no.all)), Rejections: no.encode()}, nil
}

func (r rejected) encode() (all []*materialsv1.ImportProductsResponse_Rejection) {
	for _, w := range r.all[:min(len(r.all), mostRejections)] {
		all = append(all, &materialsv1.ImportProductsResponse_Rejection{Row: int32(w.Row), Column: w.Column, Reason: w.Reason})
	}
	return all
}

func (s *Server) dryOrReal(ctx context.Context, r *materialsv1.ImportProductsRequest, file materials.Catalogue) (answer *materialsv1.ImportProductsResponse, err error) {
	now := s.Shop.Now()
	if r.DryRun {
		err = s.DB.Snapshot(ctx, func(q pg.Querier) error {
			plan, err := planOf(ctx, store.New(q), file, store.Store.Named)
			answer = outcome(plan, false)
			return err
		})
		return answer, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.ImportProductsResponse, error) {
		st := store.New(tx)
		plan, err := planOf(ctx, st, file, store.Store.LockNamed)
		if err != nil {
			return nil, err
		}
		for _, c := range plan.Changes {
			if c.New {
				c.Product.ID = id.New()
			}
			if err := errors.Join(st.Save(ctx, c.Product), s.tell(ctx, tx, c.Product, c.Facts, now, now)); err != nil {
				return nil, err
			}
		}
		return outcome(plan, true), nil
	})
}

// planOf compares a file with the products of its names.
func planOf(ctx context.Context, st store.Store, file materials.Catalogue, named func(store.Store, context.Context, []string) (map[string]materials.Product, error)) (materials.CataloguePlan, error) {
	known, err := named(st, ctx, file.Keys())
	if err != nil {
		return materials.CataloguePlan{}, err
	}
	var ids []id.ID
	for _, p := range known {
		ids = append(ids, p.ID)
	}
	inUse, err := st.InUse(ctx, ids)
	if err != nil {
		return materials.CataloguePlan{}, err
	}
	plan, wrong := file.Plan(known, inUse)
	if len(wrong) > 0 {
		return plan, rejected{wrong}
	}
	return plan, nil
}

// outcome counts what a plan does.
func outcome(p materials.CataloguePlan, applied bool) *materialsv1.ImportProductsResponse {
	return &materialsv1.ImportProductsResponse{Applied: applied, Added: int32(p.Added()), Changed: int32(len(p.Changes) - p.Added()), Unchanged: int32(p.Unchanged)}
}
