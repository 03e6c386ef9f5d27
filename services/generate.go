// Package services holds the suite: five services of one shape, and the shop that runs
// them all in one process and is the command line.
//
//	{name}/main.go           starts the service alone
//	{name}/{name}svc         wires it together; all that others may import
//	{name}/internal/{name}   the domain: rules without clock, database or wire
//	{name}/internal/server   gRPC: read, let the domain decide in one transaction, answer
//	{name}/internal/consume  what it does about other services' events
//	{name}/internal/store    SQL, migrations and generated queries
//
// go generate ./services writes the queries' Go from SQL.
package services

//go:generate go run github.com/sqlc-dev/sqlc/cmd/sqlc@v1.31.1 generate
