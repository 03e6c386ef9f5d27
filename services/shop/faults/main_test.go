package faults_test

import (
	"context"
	"errors"
	"io"
	"os"
	"strconv"
	"testing"

	"github.com/nats-io/nats-server/v2/server"

	"tackfree/pkg/boot"
	"tackfree/pkg/pgtest"
	"tackfree/services/costing/costingsvc"
	"tackfree/services/intake/intakesvc"
	"tackfree/services/materials/materialssvc"
	"tackfree/services/sales/salessvc"
	"tackfree/services/workflow/workflowsvc"
)

// The test program is also each service, and the broker, in a process of its own.
const (
	asRole     = "TACKFREE_TEST_AS"
	brokerPort = "TACKFREE_TEST_BROKER_PORT"
	brokerDir  = "TACKFREE_TEST_BROKER_DIR"
	dieAfter   = "TACKFREE_TEST_DIE_AFTER" // so many rounds of the relay, before it marks what it published
)

type runService = func(context.Context, boot.Config, boot.Deps) error

var services = map[string]runService{
	intakesvc.Name: intakesvc.Run, workflowsvc.Name: workflowsvc.Run, materialssvc.Name: materialssvc.Run,
	salessvc.Name: salessvc.Run, costingsvc.Name: costingsvc.Run,
}

func TestMain(m *testing.M) {
	switch role := os.Getenv(asRole); role {
	case "":
		pgtest.Main(m)
	case "broker":
		go endWithParent()
		serveBroker()
	default:
		go endWithParent()
		boot.Main(role, dying(services[role]))
	}
}

// endWithParent ends this process when the one that started it has ended, however that was: its
// end of the pipe is closed then.
func endWithParent() {
	_, _ = io.Copy(io.Discard, os.Stdin)
	os.Exit(3)
}

// serveBroker serves JetStream as a shop does, on disk before it acknowledges, until it is killed.
func serveBroker() {
	port, err := strconv.Atoi(os.Getenv(brokerPort))
	if err != nil {
		panic(err)
	}
	s, err := server.NewServer(&server.Options{ServerName: "faults", Host: "127.0.0.1", Port: port, JetStream: true,
		StoreDir: os.Getenv(brokerDir), SyncAlways: true, NoSigs: true, NoLog: true, MaxPayload: 4 << 20}) // poison may be large
	if err != nil {
		panic(err)
	}
	s.Start()
	s.WaitForShutdown()
}

// dying makes a service kill itself, without a word, after its relay has published so often and
// before it marks what it published the last time.
func dying(run runService) runService {
	left, err := strconv.Atoi(os.Getenv(dieAfter))
	if errors.Is(err, strconv.ErrSyntax) {
		return run
	}
	return func(ctx context.Context, c boot.Config, d boot.Deps) error {
		d.AfterPublish = func() {
			if left--; left > 0 {
				return
			}
			self, _ := os.FindProcess(os.Getpid())
			_ = self.Kill()
			select {} // the signal is on its way
		}
		return run(ctx, c, d)
	}
}
