package suite

import (
	"errors"
	"fmt"
	"net"
	"path/filepath"
	"time"

	"github.com/nats-io/nats-server/v2/server"
	"github.com/nats-io/nats.go"

	"tackfree/pkg/bus"
)

// startBroker starts JetStream inside the process. It writes to disk before it
// acknowledges; a shop makes a few events a second at most.
func (s *Suite) startBroker() (err error) {
	if s.o.WithoutBroker {
		s.bus, err = bus.Connect("nats://127.0.0.1:1", s.o.Logger) // nobody is there
		return err
	}
	if err := s.StartBroker(); err != nil {
		return err
	}
	s.bus, err = bus.Connect("", s.o.Logger, nats.InProcessServer(present{s}))
	return err
}

// StartBroker starts the broker on what it had written; the suite did, until StopBroker.
func (s *Suite) StartBroker() error {
	broker, err := server.NewServer(&server.Options{
		ServerName: "tackfree", DontListen: true, JetStream: true, StoreDir: filepath.Join(s.o.Dir, "broker"),
		SyncAlways: true, NoSigs: true, NoLog: true,
	})
	if err != nil {
		return fmt.Errorf("broker: %w", err)
	}
	broker.Start()
	s.mu.Lock()
	s.broker = broker
	s.mu.Unlock()
	if !broker.ReadyForConnections(10 * time.Second) {
		return errors.New("broker: it does not become ready")
	}
	return nil
}

// StopBroker takes the broker away from the services, which go on.
func (s *Suite) StopBroker() {
	s.mu.Lock()
	broker := s.broker
	s.mu.Unlock()
	broker.Shutdown()
	broker.WaitForShutdown()
}

// present is the broker that runs now.
type present struct{ *Suite }

// InProcessConn implements nats.InProcessConnProvider.
func (p present) InProcessConn() (net.Conn, error) {
	p.mu.Lock()
	broker := p.broker
	p.mu.Unlock()
	return broker.InProcessConn()
}

func (s *Suite) stopBroker() {
	if s.bus != nil {
		s.bus.Close()
	}
	if s.broker != nil {
		s.StopBroker()
	}
}

// Broker is a plain connection to the embedded broker, for tests that harm it.
func (s *Suite) Broker() (*nats.Conn, error) {
	return nats.Connect("", nats.InProcessServer(present{s}))
}

// Bus is the services' connection to the broker.
func (s *Suite) Bus() *bus.Bus { return s.bus }
