package suite

import (
	"errors"
	"fmt"
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
	broker, err := server.NewServer(&server.Options{
		ServerName: "tackfree", DontListen: true, JetStream: true, StoreDir: filepath.Join(s.o.Dir, "broker"),
		SyncAlways: true, NoSigs: true, NoLog: true,
	})
	if err != nil {
		return fmt.Errorf("broker: %w", err)
	}
	broker.Start()
	s.broker = broker
	if !broker.ReadyForConnections(10 * time.Second) {
		return errors.New("broker: it does not become ready")
	}
	s.bus, err = bus.Connect("", s.o.Logger, nats.InProcessServer(broker))
	return err
}

func (s *Suite) stopBroker() {
	if s.bus != nil {
		s.bus.Close()
	}
	if s.broker != nil {
		s.broker.Shutdown()
		s.broker.WaitForShutdown()
	}
}

// Broker is a plain connection to the embedded broker, for tests that harm it.
func (s *Suite) Broker() (*nats.Conn, error) { return nats.Connect("", nats.InProcessServer(s.broker)) }

// Bus is the services' connection to the broker.
func (s *Suite) Bus() *bus.Bus { return s.bus }
