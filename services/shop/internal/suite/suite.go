// Package suite runs the whole shop in one process: a Postgres, an embedded JetStream and
// the five services, each as it runs alone.
//
//	Start ─▶ postgres ─▶ roles and schemas ─▶ broker ─▶ intake workflow materials sales costing
//	Stop  ◀─ the other way round
//
// The services speak to each other and to clients in this process through in-process
// listeners, with the same interceptors as over the network; other programs reach them
// through sockets in the shop's folder and, when asked for, through TCP.
package suite

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"google.golang.org/grpc"

	"tackfree/pkg/access"
	"tackfree/pkg/boot"
	"tackfree/pkg/bus"
	"tackfree/services/costing/costingsvc"
	"tackfree/services/intake/intakesvc"
	"tackfree/services/materials/materialssvc"
	"tackfree/services/sales/salessvc"
	"tackfree/services/shop/internal/client"
	"tackfree/services/workflow/workflowsvc"
)

// runs are the services' own entries.
var runs = map[string]func(context.Context, boot.Config, boot.Deps) error{
	intakesvc.Name: intakesvc.Run, workflowsvc.Name: workflowsvc.Run, materialssvc.Name: materialssvc.Run,
	salessvc.Name: salessvc.Run, costingsvc.Name: costingsvc.Run,
}

// Options of a shop in one process.
type Options struct {
	Dir             string // everything is kept in it
	Throwaway       bool   // the folder is removed at the end and nothing needs to survive a crash
	DatabaseURL     string // an administrator's; empty: a private Postgres in Dir
	InstallPostgres bool
	Currency, Zone  string // empty: what the shop was made with, or else USD and UTC
	Listen          string // host:port of the first service over TCP, the others on the ports after it; empty: sockets only
	Pages           string // host:port of the pages over HTTP; empty: none
	PagesAnywhere   bool   // on another port where that one is taken
	Photos          string // URL of the bucket that photos are kept in; empty: the folder photos in Dir
	Reconcile       time.Duration
	AccountRules    boot.RulesFile // the shop's own; empty: those that it was opened with before
	ShiftEnd        time.Duration  // how often clocks are looked for that run past their shift; 0: each minute
	Logger          *slog.Logger
	Progress        func(string) // lines for people
	// Only starts these services and no others; empty: all of them.
	Only []string
	// WithoutBroker leaves the broker out: events stay in the services' logs.
	WithoutBroker bool
	// Postgres are settings for a private server.
	Postgres map[string]string
	// BeforePublish and AfterPublish let fault tests interrupt a service's relay.
	BeforePublish, AfterPublish map[string]func()

	patience patience // zero: the usual one
}

// Suite is a running shop.
type Suite struct {
	Shop *client.Shop

	o        Options
	made     made
	rules    accountRules
	urls     map[string]string // each service's own database URL
	postgres *postgres
	broker   *server.Server
	bus      *bus.Bus
	conns    map[string]*grpc.ClientConn
	edges    map[string]*grpc.ClientConn
	ports    map[string]net.Listener // taken for services that have not started
	pages    *pages                  // nil: none
	sockets  string
	photos   string // URL of where intake keeps photos

	saying sync.Mutex // services say something beside each other

	mu       sync.Mutex
	services map[string]*service
	failed   chan error
	notice   *notice
}

// Start starts everything and returns when all services are ready.
func Start(ctx context.Context, o Options) (s *Suite, err error) {
	if o.Reconcile == 0 {
		o.Reconcile = 30 * time.Second
	}
	if o.patience == (patience{}) {
		o.patience = usualPatience
	}
	s = &Suite{o: o, services: map[string]*service{}, conns: map[string]*grpc.ClientConn{}, edges: map[string]*grpc.ClientConn{}, ports: map[string]net.Listener{}, failed: make(chan error, len(runs))}
	defer func() {
		if err != nil {
			s.Stop()
		}
	}()
	if err := s.prepare(ctx); err != nil {
		return s, err
	}
	if s.postgres, err = startPostgres(ctx, o); err != nil {
		return s, err
	}
	if s.urls, err = s.postgres.provision(ctx); err != nil {
		return s, err
	}
	if err := s.recall(ctx); err != nil {
		return s, err
	}
	if err := s.tellAnew(ctx); err != nil {
		return s, err
	}
	if err := s.startBroker(); err != nil {
		return s, err
	}
	if err := s.startServices(ctx); err != nil {
		return s, err
	}
	if err := o.note(s.made); err != nil {
		return s, err
	}
	s.startPages()
	s.notice, err = tell(o.Dir, s.Addresses())
	return s, err
}

// prepare refuses what cannot be, before anything is started, and makes the folder.
func (s *Suite) prepare(ctx context.Context) (err error) {
	if s.rules, err = s.o.rules(); err != nil {
		return err
	}
	if s.photos, err = s.o.photosURL(); err != nil {
		return err
	}
	known, err := s.o.known(ctx)
	if err != nil {
		return err
	}
	if s.made, err = s.o.settle(known); err != nil {
		return err
	}
	if err := errors.Join(s.bindAll(), s.bindPages()); err != nil {
		return err
	}
	return os.MkdirAll(s.o.Dir, 0o711) // the database may run as another user
}

// recall asks the database, now that it runs, about a shop that was made before its folder
// kept what it was made with.
func (s *Suite) recall(ctx context.Context) error {
	if noted, err := s.o.noted(); err != nil || noted != (made{}) || s.o.Throwaway {
		return err
	}
	known, err := ask(ctx, s.AdminURL())
	if err != nil {
		return err
	}
	s.made, err = s.o.settle(known)
	return err
}

func (s *Suite) startServices(ctx context.Context) error {
	if err := s.makeSocketDir(); err != nil {
		return err
	}
	if _, err := access.LoadOrCreate(s.accessKeyFile()); err != nil {
		return err
	}
	for _, name := range client.Names {
		if err := s.connect(name); err != nil {
			return err
		}
	}
	for i, name := range client.Names {
		if s.wanted(name) {
			if err := s.StartService(name, i); err != nil {
				return err
			}
		}
	}
	for _, name := range client.Names {
		if s.wanted(name) {
			if err := s.ready(ctx, name); err != nil {
				return err
			}
		}
	}
	var err error
	s.Shop, err = client.Use(func(name string) (grpc.ClientConnInterface, error) { return s.conns[name], nil })
	return err
}

func (s *Suite) wanted(name string) bool {
	return len(s.o.Only) == 0 || slices.Contains(s.o.Only, name)
}

// Wait returns when ctx ends, with nil, or when a service or the database ends by itself.
func (s *Suite) Wait(ctx context.Context) error {
	select {
	case <-ctx.Done():
		return nil
	case err := <-s.failed:
		return err
	case <-s.postgres.done():
		return errors.New("the database ended")
	}
}

// Stop stops everything that was started, and removes a throw-away shop's folder.
func (s *Suite) Stop() {
	s.notice.withdraw()
	s.stopPages()
	for i := len(client.Names) - 1; i >= 0; i-- {
		s.stopService(client.Names[i])
	}
	for _, name := range client.Names {
		if svc := s.service(name); svc != nil {
			<-svc.ended
		}
	}
	for _, c := range s.conns {
		_ = c.Close()
	}
	for _, c := range s.edges {
		_ = c.Close()
	}
	for _, l := range s.ports {
		_ = l.Close()
	}
	s.stopBroker()
	s.postgres.stop()
	_ = os.RemoveAll(s.sockets)
	if s.o.Throwaway {
		_ = os.RemoveAll(s.o.Dir)
	}
}

// Addresses says where each service can be reached from outside this process.
func (s *Suite) Addresses() map[string]string {
	out := map[string]string{}
	for name := range runs {
		out[name] = "unix:" + s.socket(name)
	}
	return out
}

// longestSocket is what fits into a socket's address on every system.
const longestSocket = 90

// makeSocketDir makes the folder of the sockets: in the shop's own, or in a short one
// where that is too deep for a socket's address.
func (s *Suite) makeSocketDir() (err error) {
	s.sockets = filepath.Join(s.o.Dir, "sockets")
	if len(s.sockets)+len("/materials") > longestSocket {
		s.sockets, err = os.MkdirTemp("", "tackfree-")
		return err
	}
	return os.MkdirAll(s.sockets, 0o700)
}

func (s *Suite) socket(name string) string { return filepath.Join(s.sockets, name) }

func (s *Suite) say(format string, args ...any) {
	s.saying.Lock()
	defer s.saying.Unlock()
	if s.o.Progress != nil {
		s.o.Progress(fmt.Sprintf(format, args...))
	}
}

// AdminURL is the database's, for an administrator.
func (s *Suite) AdminURL() string { return s.postgres.url }

// accessKeyFile is the key of the shop's access tokens, made when the shop is first opened.
func (s *Suite) accessKeyFile() string { return filepath.Join(s.o.Dir, "keys", "access.key") }

// URL is a service's own database URL.
func (s *Suite) URL(service string) string { return s.urls[service] }

// Currency is the code of the currency that the books are kept in.
func (s *Suite) Currency() string { return s.made.Currency }

// Zone is the name of the time zone that days are counted in.
func (s *Suite) Zone() string { return s.made.Zone }

// Dir is the folder that the shop is kept in.
func (s *Suite) Dir() string { return s.o.Dir }
