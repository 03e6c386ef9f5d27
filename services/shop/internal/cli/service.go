package cli

import (
	"fmt"
	"os"
	"strings"
	"time"

	healthv1 "google.golang.org/grpc/health/grpc_health_v1"

	"context"

	"tackfree/pkg/access"
	"tackfree/pkg/grpcx"
	"tackfree/pkg/pg"
	"tackfree/services/shop/internal/client"
)

type provisionCmd struct {
	AdminURL string `help:"Postgres URL of somebody who may make roles, with the shop's database." required:"" env:"TACKFREE_ADMIN_URL"`
	Prefix   string `help:"Put before the roles' names, to keep two shops on one server apart." default:"tackfree_"`
}

// Run reads each service's password from TACKFREE_<SERVICE>_PASSWORD. The key of access tokens is made too,
// where it was said in which file.
func (c *provisionCmd) Run(e *env) error {
	passwords := map[string]string{}
	for _, name := range client.Names {
		key := "TACKFREE_" + strings.ToUpper(name) + "_PASSWORD"
		if passwords[name] = os.Getenv(key); passwords[name] == "" {
			return fmt.Errorf("no password for %s: set %s", name, key)
		}
	}
	if file := string(e.reach.AccessKeyFile); file != "" {
		if _, err := access.LoadOrCreate(file); err != nil {
			return err
		}
	}
	if _, err := pg.Provision(e.ctx, c.AdminURL, c.Prefix, passwords); err != nil {
		return err
	}
	_, err := fmt.Fprintf(e.out, "The roles %s{%s} and their schemas are there.\n", c.Prefix, strings.Join(client.Names, ","))
	return err
}

type healthCmd struct {
	Address string `arg:"" help:"host:port or unix:/path of a service."`
}

func (c *healthCmd) Run(e *env) error {
	conn, err := grpcx.Dial(c.Address)
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close() }()
	ctx, cancel := context.WithTimeout(e.ctx, 3*time.Second)
	defer cancel()
	r, err := healthv1.NewHealthClient(conn).Check(ctx, &healthv1.HealthCheckRequest{})
	if err != nil {
		return err
	}
	if r.Status != healthv1.HealthCheckResponse_SERVING {
		return fmt.Errorf("it answers %s", r.Status)
	}
	_, err = fmt.Fprintln(e.out, "serving")
	return err
}
