package pg

import (
	"context"
	"fmt"
	"net/url"

	"github.com/jackc/pgx/v5"
)

// Provision makes, in the database of the administrator's URL, a login role and a
// schema for each service, named alike, and gives back each service's own URL. A role
// owns its schema and can read no other's. Running it again changes passwords only.
//
// prefix goes before the role names, for roles are shared by all databases of a server.
func Provision(ctx context.Context, adminURL, prefix string, passwords map[string]string) (map[string]string, error) {
	conn, err := pgx.Connect(ctx, adminURL)
	if err != nil {
		return nil, fmt.Errorf("provision: %w", err)
	}
	defer func() { _ = conn.Close(ctx) }()
	if err := sweep(ctx, conn); err != nil {
		return nil, fmt.Errorf("provision: %w", err)
	}
	urls := make(map[string]string, len(passwords))
	for service, password := range passwords {
		if err := provision(ctx, conn, prefix+service, service, password); err != nil {
			return nil, fmt.Errorf("provision %s: %w", service, err)
		}
		if urls[service], err = withUser(adminURL, prefix+service, password); err != nil {
			return nil, err
		}
	}
	return urls, nil
}

// sweep readies what all share: nobody creates in the public schema, and the index
// support for "one worker, no overlapping times" is there.
func sweep(ctx context.Context, conn *pgx.Conn) error {
	for _, stmt := range []string{
		`SELECT pg_advisory_lock(hashtext('tackfree provision'))`, // one at a time; ends with the session
		`REVOKE CREATE ON SCHEMA public FROM PUBLIC`,
		`CREATE EXTENSION IF NOT EXISTS btree_gist WITH SCHEMA public`,
	} {
		if _, err := conn.Exec(ctx, stmt); err != nil {
			return err
		}
	}
	return nil
}

func provision(ctx context.Context, conn *pgx.Conn, role, schema, password string) error {
	var exists bool
	err := conn.QueryRow(ctx, `SELECT EXISTS (SELECT FROM pg_roles WHERE rolname = $1)`, role).Scan(&exists)
	if err != nil {
		return err
	}
	r, s := pgx.Identifier{role}.Sanitize(), pgx.Identifier{schema}.Sanitize()
	verb := "CREATE"
	if exists {
		verb = "ALTER"
	}
	var secret string
	if err := conn.QueryRow(ctx, `SELECT quote_literal($1)`, password).Scan(&secret); err != nil {
		return err
	}
	for _, stmt := range []string{
		verb + " ROLE " + r + " LOGIN PASSWORD " + secret,
		// A managed database's administrator is no superuser: it must be a member of the
		// role to give it a schema.
		"GRANT " + r + " TO CURRENT_USER",
		"CREATE SCHEMA IF NOT EXISTS " + s + " AUTHORIZATION " + r,
		"REVOKE ALL ON SCHEMA " + s + " FROM PUBLIC",
	} {
		if _, err := conn.Exec(ctx, stmt); err != nil {
			return err
		}
	}
	return nil
}

func withUser(raw, user, password string) (string, error) {
	u, err := url.Parse(raw)
	if err != nil {
		return "", fmt.Errorf("database URL: %w", err)
	}
	u.User = url.UserPassword(user, password)
	return u.String(), nil
}
