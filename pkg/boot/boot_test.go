package boot

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc"
	healthv1 "google.golang.org/grpc/health/grpc_health_v1"

	"tackfree/pkg/pgtest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// Figures of one currency, and days of one zone, cannot be read as another's.
func TestOpen_AnotherShop(t *testing.T) {
	url := pgtest.Config(t, "intake").URL
	open := func(currency, zone string) error {
		c := config(url)
		c.Currency, c.Zone = currency, zone
		s, err := Open(t.Context(), "intake", c, deps(t), parts)
		if err == nil {
			s.DB.Close()
		}
		return err
	}
	if err := open("EUR", "Europe/Madrid"); err != nil {
		t.Fatal(err)
	}
	for _, other := range [][2]string{{"USD", "Europe/Madrid"}, {"EUR", "America/New_York"}} {
		err := open(other[0], other[1])
		if err == nil || !strings.Contains(err.Error(), "EUR") || !strings.Contains(err.Error(), other[0]) || !strings.Contains(err.Error(), other[1]) {
			t.Errorf("Open in %v = %v, want an error that names both shops", other, err)
		}
	}
	if err := open("EUR", "Europe/Madrid"); err != nil {
		t.Errorf("the same shop again: %v", err)
	}
}

func TestOpen_RefusesToGuess(t *testing.T) {
	url := pgtest.Config(t, "intake").URL
	for name, change := range map[string]func(*Config){
		"NoDatabase":      func(c *Config) { c.DatabaseURL = "" },
		"NoSuchFile":      func(c *Config) { c.DatabaseURLFile = t.TempDir() + "/none" },
		"UnknownCurrency": func(c *Config) { c.Currency = "usd" },
		"UnknownZone":     func(c *Config) { c.Zone = "Madrid" },
		"LocalZone":       func(c *Config) { c.Zone = "Local" },
		"NoZone":          func(c *Config) { c.Zone = "" },
	} {
		t.Run(name, func(t *testing.T) {
			c := config(url)
			change(&c)
			if s, err := Open(t.Context(), "intake", c, deps(t), parts); err == nil {
				s.DB.Close()
				t.Error("Open = nil")
			}
		})
	}
}

func TestOpen_WaitsForTheDatabase(t *testing.T) {
	g := newGate(t, "intake", true)
	opened := make(chan error, 1)
	go func() {
		s, err := Open(t.Context(), "intake", config(g.url), deps(t), parts)
		if err == nil {
			s.DB.Close()
		}
		opened <- err
	}()
	eventually(t, "it knocks", func() bool { return g.tried.Load() > 0 })
	select {
	case err := <-opened:
		t.Fatalf("Open = %v while the database is away", err)
	default:
	}
	g.setShut(false)
	if err := <-opened; err != nil {
		t.Errorf("Open = %v once the database is there", err)
	}
}

func TestOpen_GivesUpWithItsContext(t *testing.T) {
	g := newGate(t, "intake", true)
	ctx, cancel := context.WithCancel(t.Context())
	d := deps(t)
	opened := make(chan error, 1)
	go func() {
		_, err := Open(ctx, "intake", config(g.url), d, parts)
		opened <- err
	}()
	eventually(t, "it knocks", func() bool { return g.tried.Load() > 0 })
	cancel()
	if err := <-opened; err == nil {
		t.Error("Open = nil although its context ended")
	}
}

// Health tells of the database and never of the broker, which is away all the time here.
func TestService_HealthFollowsTheDatabase(t *testing.T) {
	g := newGate(t, "intake", false)
	r := run(t, g.url, func(s *Service) { s.pulse = hasty })
	health := func(service string, want healthv1.HealthCheckResponse_ServingStatus) func() bool {
		return func() bool {
			h, err := healthv1.NewHealthClient(r.conn).Check(t.Context(), &healthv1.HealthCheckRequest{Service: service}, grpc.WaitForReady(true))
			return err == nil && h.Status == want
		}
	}
	names := []string{"", "tackfree.events.v1.EventLogService"}
	for range 2 {
		for _, name := range names {
			eventually(t, "it serves "+name, health(name, healthv1.HealthCheckResponse_SERVING))
		}
		g.setShut(true)
		for _, name := range names {
			eventually(t, "it says that it does not serve "+name, health(name, healthv1.HealthCheckResponse_NOT_SERVING))
		}
		g.setShut(false)
	}
	eventually(t, "it serves again", health("", healthv1.HealthCheckResponse_SERVING))
	if _, err := eventsv1.NewEventLogServiceClient(r.conn).ListEvents(t.Context(), &eventsv1.ListEventsRequest{}); err != nil {
		t.Errorf("a call after the database came back: %v", err)
	}
}

// One missed beat is not an outage.
func TestService_HealthIsPatient(t *testing.T) {
	g := newGate(t, "intake", false)
	r := run(t, g.url, func(s *Service) { s.pulse = pulse{every: 5 * time.Millisecond, patience: time.Hour} })
	check := func() error {
		h, err := healthv1.NewHealthClient(r.conn).Check(t.Context(), &healthv1.HealthCheckRequest{}, grpc.WaitForReady(true))
		if err == nil && h.Status != healthv1.HealthCheckResponse_SERVING {
			err = errors.New(h.Status.String())
		}
		return err
	}
	before := g.tried.Load()
	g.setShut(true)
	eventually(t, "it has knocked in vain", func() bool { return g.tried.Load() > before+3 })
	if err := check(); err != nil {
		t.Errorf("health after a moment without the database: %v", err)
	}
}

// Run waits for its jobs, and after it nothing of the service is left in the database.
func TestService_RunStopsEverything(t *testing.T) {
	c := pgtest.Config(t, "intake")
	began, told, returned := make(chan struct{}), make(chan struct{}), make(chan struct{})
	r := run(t, c.URL, func(s *Service) {
		s.Go(func(ctx context.Context) {
			close(began)
			<-ctx.Done()
			close(told)
			select {
			case <-returned:
				t.Error("Run returned before its job")
			case <-time.After(100 * time.Millisecond): // the job takes its time
			}
		})
	})
	<-began
	eventually(t, "the relay leads and the pool is open", func() bool { return sessions(t, c.URL) >= 2 })
	r.stop()
	close(returned)
	select {
	case <-told:
	default:
		t.Error("the job was not told to end")
	}
	eventually(t, "all sessions are gone", func() bool { return sessions(t, c.URL) == 0 })
}
