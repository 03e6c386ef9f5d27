package suite

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"fmt"
	"net/url"
	"path/filepath"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/id"
	"tackfree/pkg/localpg"
	"tackfree/pkg/pg"
	"tackfree/services/shop/internal/client"
)

// database is the shop's database in a private Postgres.
const database = "tackfree"

// postgres is where the shop keeps everything: a private server, or a database of
// somebody else's.
type postgres struct {
	url     string // administrator's, with the shop's database
	private *localpg.Server
	drop    string // SQL that removes a throw-away database from a server we do not own
	admin   string // where drop runs
}

func startPostgres(ctx context.Context, o Options) (*postgres, error) {
	if o.DatabaseURL != "" {
		return theirs(ctx, o)
	}
	server, err := localpg.Resolve(ctx, localpg.Ways{
		Options: localpg.Options{Dir: filepath.Join(o.Dir, "postgres"), Throwaway: o.Throwaway, Settings: o.Postgres, Progress: o.Progress},
		Install: o.InstallPostgres,
	})
	if err != nil {
		return nil, err
	}
	p := &postgres{url: server.URL(database), private: server}
	if err := create(ctx, server.URL("postgres"), database); err != nil {
		p.stop()
		return nil, err
	}
	return p, nil
}

// theirs uses the database of the URL; a throw-away shop gets a database of its own
// beside it, which goes with the shop.
func theirs(ctx context.Context, o Options) (*postgres, error) {
	if !o.Throwaway {
		return &postgres{url: o.DatabaseURL}, nil
	}
	name := "tackfree_demo_" + strings.ReplaceAll(id.New().String(), "-", "")
	u, err := url.Parse(o.DatabaseURL)
	if err != nil {
		return nil, fmt.Errorf("DATABASE_URL: %w", err)
	}
	if err := create(ctx, o.DatabaseURL, name); err != nil {
		return nil, err
	}
	u.Path = "/" + name
	return &postgres{url: u.String(), admin: o.DatabaseURL, drop: name}, nil
}

// create makes a database if it is not there.
func create(ctx context.Context, admin, name string) error {
	conn, err := pgx.Connect(ctx, admin)
	if err != nil {
		return fmt.Errorf("connect to Postgres: %w", err)
	}
	defer func() { _ = conn.Close(ctx) }()
	var there bool
	if err := conn.QueryRow(ctx, `SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)`, name).Scan(&there); err != nil || there {
		return err
	}
	_, err = conn.Exec(ctx, "CREATE DATABASE "+pgx.Identifier{name}.Sanitize())
	return err
}

// provision gives each service its role, with a new password every time, and its schema.
func (p *postgres) provision(ctx context.Context) (map[string]string, error) {
	passwords := map[string]string{}
	for _, name := range client.Names {
		passwords[name] = secret()
	}
	return pg.Provision(ctx, p.url, p.prefix(), passwords)
}

// prefix keeps the roles of two shops on one server apart.
func (p *postgres) prefix() string {
	u, err := url.Parse(p.url)
	if err != nil {
		return database + "_"
	}
	return strings.TrimPrefix(u.Path, "/") + "_"
}

func secret() string {
	b := make([]byte, 24)
	_, _ = rand.Read(b) // never fails
	return hex.EncodeToString(b)
}

// done is closed when a private server has ended.
func (p *postgres) done() <-chan struct{} {
	if p == nil || p.private == nil {
		return nil
	}
	return p.private.Done()
}

func (p *postgres) stop() {
	if p == nil {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	if p.private != nil {
		_ = p.private.Stop(ctx) // it has said why in its log
	}
	if p.drop != "" {
		p.dropTheirs(ctx)
	}
}

func (p *postgres) dropTheirs(ctx context.Context) {
	conn, err := pgx.Connect(ctx, p.admin)
	if err != nil {
		return // it is gone with its server
	}
	defer func() { _ = conn.Close(ctx) }()
	_, _ = conn.Exec(ctx, "DROP DATABASE "+pgx.Identifier{p.drop}.Sanitize()+" WITH (FORCE)")
	for _, name := range client.Names {
		_, _ = conn.Exec(ctx, "DROP ROLE "+pgx.Identifier{p.prefix() + name}.Sanitize())
	}
}
