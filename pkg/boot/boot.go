// Package boot starts a service: alone from its main, or beside the others in one
// process. Plumbing.
//
//	main ── Main ──▶ Config, Deps ──┐
//	shop ── its own Config, Deps ───┴─▶ {name}svc.Run ── Open ─▶ Service ── Run
//
// Open brings the schema up to date and makes the server; the service registers its
// handlers and jobs; Run serves until the context ends and then stops everything.
package boot

import (
	"context"
	"embed"
	"fmt"
	"io/fs"
	"log/slog"
	"net"
	"sync"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/access"
	"tackfree/pkg/bus"
	"tackfree/pkg/grpcx"
	"tackfree/pkg/inbox"
	"tackfree/pkg/once"
	"tackfree/pkg/outbox"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

//go:embed migrations/*.sql
var files embed.FS

// Deps is what a service is given rather than makes, so that it runs the same alone and
// in company.
type Deps struct {
	Logger    *slog.Logger
	Bus       *bus.Bus
	Listeners []net.Listener
	Dial      func(service string) (grpc.ClientConnInterface, error)
	Now       func() time.Time
	// BeforePublish and AfterPublish let fault tests die in the relay; see outbox.Relay.
	BeforePublish, AfterPublish func()
	// Migrated is told that the service's tables are up to date, which may have taken long; nil: nobody is.
	Migrated func()
	// RulesTaken is told that costing books by its account rules from here on, before it books anything
	// by them; nil: nobody is.
	RulesTaken func() error
}

// Parts is what a service brings of its own.
type Parts struct {
	Migrations  fs.FS // 00001_what.sql …, in folder migrations
	Constraints pg.Constraints
	Producer    bool     // it writes events
	Consumer    bool     // it follows others' events
	Long        []string // methods that may take minutes
}

// Service is a service that has been opened and not yet run.
type Service struct {
	Deps
	Name string
	DB   *pg.DB
	Pool pg.Config // how DB was opened, for a second pool with other limits
	GRPC *grpcx.Server
	Shop wire.Shop
	Key  *access.Key // nil: the service trusts whoever reaches it
	Log  *outbox.Log // nil for a service that writes no events

	jobs  []func(context.Context)
	pulse pulse
}

// Open waits for the database, migrates, and makes the server.
func Open(ctx context.Context, name string, c Config, d Deps, p Parts) (*Service, error) {
	s := &Service{Deps: d, Name: name, pulse: usualPulse}
	url, err := c.databaseURL()
	if err != nil {
		return nil, err
	}
	if s.Shop, err = c.shop(d.Now); err != nil {
		return nil, err
	}
	if s.Key, err = c.accessKey(); err != nil {
		return nil, err
	}
	s.Pool = pg.Config{URL: url, Schema: name}
	if s.DB, err = pg.Open(ctx, s.Pool, p.Constraints); err != nil {
		return nil, err
	}
	if err := s.prepare(ctx, c, p); err != nil {
		s.DB.Close()
		return nil, err
	}
	return s, nil
}

func (s *Service) prepare(ctx context.Context, c Config, p Parts) error {
	if err := s.migrate(ctx, p.sets()); err != nil {
		return err
	}
	if s.Migrated != nil {
		s.Migrated()
	}
	return s.finish(ctx, c, p)
}

func (s *Service) finish(ctx context.Context, c Config, p Parts) (err error) {
	if err := sameShop(ctx, s.DB, c); err != nil {
		return err
	}
	if s.GRPC, err = grpcx.NewGuarded(s.Logger, access.NewGuard(s.Key, s.Now), p.Long...); err != nil {
		return err
	}
	s.Go(s.watchHealth)
	s.Go(s.purge)
	if !p.Producer {
		return nil
	}
	if s.Log, err = outbox.Open(ctx, s.DB, s.Name); err != nil {
		return err
	}
	eventsv1.RegisterEventLogServiceServer(s.GRPC, outbox.NewServer(s.Log))
	relay := outbox.NewRelay(s.Log, s.Bus, s.Logger)
	relay.BeforePublish, relay.AfterPublish = s.BeforePublish, s.AfterPublish
	s.Go(relay.Run)
	return nil
}

// migrate tries until the database answers or ctx ends.
func (s *Service) migrate(ctx context.Context, sets []pg.Migrations) error {
	for {
		current, err := s.DB.Current(ctx, sets...)
		if err == nil && !current {
			err = pg.Migrate(ctx, s.Pool, sets...)
		}
		if err == nil || !pg.Transient(err) || ctx.Err() != nil {
			return err
		}
		s.Logger.InfoContext(ctx, "waiting for the database", "error", err)
		wait(ctx, time.Second)
	}
}

// sets lists all tables of the service: the plumbing's and its own.
func (p Parts) sets() []pg.Migrations {
	sets := []pg.Migrations{{Name: "boot", Files: folder(files)}, once.Migrations()}
	if p.Producer {
		sets = append(sets, outbox.Migrations())
	}
	if p.Consumer {
		sets = append(sets, inbox.Migrations())
	}
	return append(sets, Migrations(p.Migrations))
}

// Migrations names the tables of a service's own folder of migrations.
func Migrations(own fs.FS) pg.Migrations { return pg.Migrations{Name: "schema", Files: folder(own)} }

func folder(f fs.FS) fs.FS {
	root, err := fs.Sub(f, "migrations")
	if err != nil {
		panic(err) // the folder is compiled in
	}
	return root
}

// sameShop keeps a service from reading its figures as another shop's.
func sameShop(ctx context.Context, db *pg.DB, c Config) error {
	return db.InTx(ctx, func(ctx context.Context, tx *pg.Tx) error {
		_, _ = tx.Exec(ctx, `INSERT INTO shop (currency, zone) VALUES ($1, $2) ON CONFLICT DO NOTHING`, c.Currency, c.Zone)
		var currency, zone string
		if err := tx.QueryRow(ctx, `SELECT currency, zone FROM shop`).Scan(&currency, &zone); err != nil {
			return err
		}
		if currency != c.Currency || zone != c.Zone {
			return fmt.Errorf("this shop's books are kept in %s and in zone %s; it was started with %s and %s", currency, zone, c.Currency, c.Zone)
		}
		return nil
	})
}

// Go adds a job that runs beside the server until its context ends.
func (s *Service) Go(job func(context.Context)) { s.jobs = append(s.jobs, job) }

// Follow feeds an inbox from what the broker has on some subjects, under the service's name, and
// lets it heal.
func (s *Service) Follow(in *inbox.Inbox, subjects ...string) {
	s.Go(func(ctx context.Context) { s.Bus.Consume(ctx, s.Name, subjects, in.Handle) })
	s.Go(in.Run)
}

// Run serves until ctx ends, then stops the server, the jobs and the pool, in that order.
func (s *Service) Run(ctx context.Context) error {
	defer s.DB.Close()
	jobs, stop := context.WithCancel(context.WithoutCancel(ctx))
	var running sync.WaitGroup
	for _, job := range s.jobs {
		running.Go(func() { job(jobs) })
	}
	for _, l := range s.Listeners {
		s.Logger.Info("serving", "address", l.Addr().String())
		if s.Key == nil && l.Addr().Network() == "tcp" {
			s.Logger.Warn("without an access key whoever reaches this address may do anything; see --access-key-file", "address", l.Addr().String())
		}
	}
	err := s.GRPC.Serve(ctx, s.Listeners...)
	stop()
	running.Wait()
	return err
}

// Peer makes a connection to another service.
func (s *Service) Peer(service string) (grpc.ClientConnInterface, error) { return s.Dial(service) }

func wait(ctx context.Context, d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
	case <-timer.C:
	}
}
