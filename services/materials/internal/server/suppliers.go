package server

import (
	"context"
	"time"

	"google.golang.org/protobuf/proto"

	"tackfree/pkg/id"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/materials/internal/materials"
	"tackfree/services/materials/internal/store"
)

// AddSupplier implements SupplierService.
func (s *Server) AddSupplier(ctx context.Context, r *materialsv1.AddSupplierRequest) (*materialsv1.AddSupplierResponse, error) {
	now := s.Shop.Now()
	name, err := nameOf("display_name", r.DisplayName)
	if err != nil {
		return nil, err
	}
	added := materials.AddSupplier(materials.Supplier{ID: id.New(), Name: name, LeadDays: r.LeadDays, Note: wire.Name(r.Note)})
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.AddSupplierResponse, error) {
		if err := store.New(tx).InsertSupplier(ctx, added); err != nil {
			return nil, err
		}
		return &materialsv1.AddSupplierResponse{Supplier: encodeSupplier(added)}, s.tellSupplier(ctx, tx, added, supplierSaved(added), now)
	})
}

// ChangeSupplier implements SupplierService.
func (s *Server) ChangeSupplier(ctx context.Context, r *materialsv1.ChangeSupplierRequest) (*materialsv1.ChangeSupplierResponse, error) {
	now := s.Shop.Now()
	supplierID, err := id.One("supplier", r.Supplier, "suppliers")
	if err != nil {
		return nil, err
	}
	name, err := nameOf("display_name", r.DisplayName)
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*materialsv1.ChangeSupplierResponse, error) {
		st := store.New(tx)
		supplier, err := st.LockSupplier(ctx, supplierID)
		if err != nil {
			return nil, err
		}
		if err := wire.CheckEtag(r.Etag, supplier.Version); err != nil {
			return nil, err
		}
		supplier.Change(materials.Supplier{Name: name, LeadDays: r.LeadDays, Note: wire.Name(r.Note), Retired: r.Retired})
		if err := st.UpdateSupplier(ctx, supplier); err != nil {
			return nil, err
		}
		return &materialsv1.ChangeSupplierResponse{Supplier: encodeSupplier(supplier)}, s.tellSupplier(ctx, tx, supplier, supplierSaved(supplier), now)
	})
}

// GetSupplier implements SupplierService.
func (s *Server) GetSupplier(ctx context.Context, r *materialsv1.GetSupplierRequest) (*materialsv1.GetSupplierResponse, error) {
	supplierID, err := id.One("name", r.Name, "suppliers")
	if err != nil {
		return nil, err
	}
	var supplier materials.Supplier
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		supplier, err = store.New(q).Supplier(ctx, supplierID)
		return err
	})
	if err != nil {
		return nil, notFoundAt("name", err)
	}
	return &materialsv1.GetSupplierResponse{Supplier: encodeSupplier(supplier)}, nil
}

// ListSuppliers implements SupplierService.
func (s *Server) ListSuppliers(ctx context.Context, r *materialsv1.ListSuppliersRequest) (*materialsv1.ListSuppliersResponse, error) {
	var after string
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var suppliers []materials.Supplier
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		suppliers, err = store.New(q).Suppliers(ctx, after, r.ShowRetired, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &materialsv1.ListSuppliersResponse{NextPageToken: page.Next(suppliers, size, func(one materials.Supplier) any { return one.Name })}
	for _, one := range suppliers {
		out.Suppliers = append(out.Suppliers, encodeSupplier(one))
	}
	return out, nil
}

// tellSupplier appends the event that made the supplier's version. What could run out before they
// deliver may be any product.
func (s *Server) tellSupplier(ctx context.Context, tx *pg.Tx, of materials.Supplier, payload proto.Message, now time.Time) error {
	tx.After(s.changedAll)
	return s.Log.Append(ctx, tx, outbox.Event{Kind: "supplier", Aggregate: of.ID, Version: of.Version, OccurredAt: now, Payload: payload}, now)
}

func supplierSaved(one materials.Supplier) *eventsv1.SupplierSaved {
	return &eventsv1.SupplierSaved{SupplierId: one.ID.String(), DisplayName: one.Name, LeadDays: one.LeadDays, Retired: one.Retired}
}

func encodeSupplier(one materials.Supplier) *materialsv1.Supplier {
	return &materialsv1.Supplier{Name: id.Name("suppliers", one.ID), DisplayName: one.Name, LeadDays: one.LeadDays, Note: one.Note, Retired: one.Retired, Etag: wire.Etag(one.Version)}
}
