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
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// AddClient implements ClientService.
func (s *Server) AddClient(ctx context.Context, r *intakev1.AddClientRequest) (*intakev1.AddClientResponse, error) {
	now := s.Shop.Now()
	added, err := s.Shop.Instant("", nil)
	if err != nil {
		return nil, err
	}
	client := intake.AddClient(decodeDetails(r.Details), added)
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*intakev1.AddClientResponse, error) {
		c, st := client, store.New(tx)
		if err := st.NumberClient(ctx, &c); err != nil {
			return nil, err
		}
		if err := st.InsertClient(ctx, c); err != nil {
			return nil, err
		}
		return &intakev1.AddClientResponse{Client: encodeClient(c)}, s.tellClient(ctx, tx, c, now, clientSaved(c))
	})
}

// tellClient writes the event that made the client's present version.
func (s *Server) tellClient(ctx context.Context, tx *pg.Tx, c intake.Client, now time.Time, payload proto.Message) error {
	return s.Log.Append(ctx, tx, outbox.Event{Kind: "client", Aggregate: c.ID, Version: c.Version, OccurredAt: now, Payload: payload}, now)
}

func clientSaved(c intake.Client) *eventsv1.ClientSaved {
	return &eventsv1.ClientSaved{Number: c.Number, TaxExempt: c.Details.Exemption != nil}
}

// ChangeClient implements ClientService.
func (s *Server) ChangeClient(ctx context.Context, r *intakev1.ChangeClientRequest) (*intakev1.ChangeClientResponse, error) {
	now := s.Shop.Now()
	client, err := id.One("client", r.Client, "clients")
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*intakev1.ChangeClientResponse, error) {
		c, err := changeClient(ctx, store.New(tx), client, r.Etag, func(c *intake.Client) error { return c.Change(decodeDetails(r.Details)) })
		if err != nil {
			return nil, err
		}
		return &intakev1.ChangeClientResponse{Client: encodeClient(c)}, s.tellClient(ctx, tx, c, now, clientSaved(c))
	})
}

// RetireClient implements ClientService.
func (s *Server) RetireClient(ctx context.Context, r *intakev1.RetireClientRequest) (*intakev1.RetireClientResponse, error) {
	now := s.Shop.Now()
	client, err := id.One("client", r.Client, "clients")
	if err != nil {
		return nil, err
	}
	return once.Do(ctx, s.DB, r, now, func(ctx context.Context, tx *pg.Tx) (*intakev1.RetireClientResponse, error) {
		c, err := changeClient(ctx, store.New(tx), client, r.Etag, (*intake.Client).Retire)
		if err != nil {
			return nil, err
		}
		return &intakev1.RetireClientResponse{Client: encodeClient(c)}, s.tellClient(ctx, tx, c, now, &eventsv1.ClientRetired{Number: c.Number})
	})
}

// changeClient locks a client, changes and writes them. Faults: CLIENT_NOT_FOUND, ETAG_MISMATCH and those of change.
func changeClient(ctx context.Context, st store.Store, client id.ID, etag string, change func(*intake.Client) error) (intake.Client, error) {
	c, err := st.LockClient(ctx, client)
	if err != nil {
		return c, err
	}
	if err := wire.CheckEtag(etag, c.Version); err != nil {
		return c, err
	}
	if err := change(&c); err != nil {
		return c, err
	}
	return c, st.UpdateClient(ctx, c)
}

// GetClient implements ClientService.
func (s *Server) GetClient(ctx context.Context, r *intakev1.GetClientRequest) (*intakev1.GetClientResponse, error) {
	client, err := id.One("name", r.Name, "clients")
	if err != nil {
		return nil, err
	}
	var c intake.Client
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		c, err = store.New(q).GetClient(ctx, client)
		return err
	})
	if err != nil {
		return nil, at(err, "CLIENT_NOT_FOUND", "name")
	}
	return &intakev1.GetClientResponse{Client: encodeClient(c)}, nil
}

// ListClients implements ClientService.
func (s *Server) ListClients(ctx context.Context, r *intakev1.ListClientsRequest) (*intakev1.ListClientsResponse, error) {
	var after int32
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	size := page.Size(r.PageSize)
	var clients []intake.Client
	err := s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		clients, err = found(ctx, store.New(q), r, after, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &intakev1.ListClientsResponse{NextPageToken: page.Next(clients, size, func(c intake.Client) any { return c.Number })}
	for _, c := range clients {
		out.Clients = append(out.Clients, encodeClient(c))
	}
	return out, nil
}

// readAtOnce is how many clients are looked through at a time when one is searched.
const readAtOnce = 1000

// found reads up to size clients with a higher number of whom holds what is searched.
func found(ctx context.Context, st store.Store, r *intakev1.ListClientsRequest, after, size int32) (out []intake.Client, err error) {
	what := intake.Folded(r.Search)
	if what == "" {
		return st.ListClients(ctx, after, r.ShowRetired, size)
	}
	for {
		some, err := st.ListClients(ctx, after, r.ShowRetired, readAtOnce)
		if err != nil {
			return nil, err
		}
		for _, c := range some {
			if c.Holds(what) {
				out = append(out, c)
			}
			if len(out) == int(size) {
				return out, nil
			}
		}
		if len(some) < readAtOnce {
			return out, nil
		}
		after = some[len(some)-1].Number
	}
}

func decodeDetails(m *intakev1.ClientDetails) intake.ClientDetails {
	d := intake.ClientDetails{Name: wire.Name(m.DisplayName), Phone: wire.Name(m.Phone), Email: m.Email}
	for _, line := range m.Address {
		d.Address = append(d.Address, wire.Name(line))
	}
	if e := m.TaxExemption; e != nil {
		d.Exemption = &intake.Exemption{Reason: wire.Name(e.Reason), Number: wire.Name(e.Number)}
	}
	return d
}

func encodeClient(c intake.Client) *intakev1.Client {
	d := c.Details
	return &intakev1.Client{Name: id.Name("clients", c.ID), Number: c.Number, Retired: c.Retired, AddTime: wire.ToInstant(c.AddedAt), Etag: wire.Etag(c.Version),
		Details: &intakev1.ClientDetails{DisplayName: d.Name, Phone: d.Phone, Email: d.Email, Address: d.Address, TaxExemption: encodeExemption(d.Exemption)}}
}

func encodeExemption(e *intake.Exemption) *intakev1.TaxExemption {
	if e == nil {
		return nil
	}
	return &intakev1.TaxExemption{Reason: e.Reason, Number: e.Number}
}
