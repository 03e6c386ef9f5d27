package pgtest

import (
	"context"
	"fmt"
	"os"

	"github.com/testcontainers/testcontainers-go/modules/postgres"

	"tackfree/pkg/engine"
	"tackfree/pkg/localpg"
)

// Image is the container image of the tests' server.
const Image = "postgres:17-alpine"

func find(ctx context.Context) (*server, error) {
	if url := os.Getenv("TEST_DATABASE_URL"); url != "" {
		return &server{url: url, stop: func() {}, templates: map[string]string{}}, nil
	}
	if engine.Has(ctx, Image) {
		return inContainer(ctx)
	}
	return fromBinaries(ctx)
}

func inContainer(ctx context.Context) (*server, error) {
	c, err := postgres.Run(ctx, Image, postgres.WithDatabase("tests"), postgres.WithUsername("tests"), postgres.WithPassword("tests"),
		postgres.BasicWaitStrategies()) // a port alone may still answer that the server is starting up
	if err != nil {
		return nil, fmt.Errorf("container %s: %w", Image, err)
	}
	url, err := c.ConnectionString(ctx, "sslmode=disable")
	if err != nil {
		return nil, err
	}
	return &server{url: url, stop: func() { _ = c.Terminate(context.Background()) }, templates: map[string]string{}}, nil
}

// settings make copying a database cheap: with few buffers it takes ten times as long. The log
// of all that is copied is kept short, for it may be in memory.
var settings = map[string]string{
	"max_connections": "200", "shared_buffers": "256MB", "wal_init_zero": "off", "checkpoint_timeout": "1h", "max_wal_size": "512MB",
}

func fromBinaries(ctx context.Context) (*server, error) {
	dir, err := inMemory()
	if err != nil {
		dir, err = os.MkdirTemp("", "tackfree-pgtest-")
	}
	if err != nil {
		return nil, err
	}
	pg, err := localpg.Start(ctx, localpg.Options{Dir: dir, Throwaway: true, Settings: settings})
	if err != nil {
		_ = os.RemoveAll(dir)
		return nil, fmt.Errorf("%w; `go run ./services/shop demo --install-postgres` installs one", err)
	}
	stop := func() {
		_ = pg.Stop(context.Background())
		_ = os.RemoveAll(dir)
	}
	return &server{url: pg.URL("postgres"), stop: stop, templates: map[string]string{}}, nil
}
