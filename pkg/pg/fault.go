package pg

import (
	"context"
	"errors"
	"net"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"tackfree/pkg/fault"
)

// Faults of the database itself; a service's own are in its Constraints.
var (
	errContention = fault.New(fault.Conflict, "CONTENTION",
		"Others changed the same things at the same moment. Nothing was changed; try again.")
	errDatabaseAway = fault.New(fault.Unavailable, "DATABASE_UNAVAILABLE",
		"The database cannot be reached. Nothing was changed; try again shortly.")
	errText = fault.New(fault.Invalid, "TEXT_MALFORMED",
		"A text holds a character that cannot be kept, such as a zero byte; type it anew.")
	errOutcomeUnknown = fault.New(fault.Unavailable, "OUTCOME_UNKNOWN",
		"The connection to the database broke while the change was being saved. Ask again with the same request id: it is done once.")
)

// lostCommit marks an error after which nobody knows whether the commit happened.
type lostCommit struct{ error }

func (e lostCommit) Unwrap() error { return e.error }

// translate turns a database error into a fault. Faults, no-rows and errors of the
// caller's context pass; what it does not know stays an ordinary error.
func (db *DB) translate(err error) error {
	var lost lostCommit
	switch {
	case err == nil, fault.Of(err) != nil, errors.Is(err, pgx.ErrNoRows):
		return err
	case errors.As(err, &lost):
		return errOutcomeUnknown.Because(err)
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return err
	}
	var pe *pgconn.PgError
	if errors.As(err, &pe) {
		return db.translateState(err, pe)
	}
	if connectionLost(err) {
		return errDatabaseAway.Because(err)
	}
	return err
}

func (db *DB) translateState(err error, pe *pgconn.PgError) error {
	if f, ok := db.faults[pe.ConstraintName]; ok && pe.ConstraintName != "" {
		return f.Because(err)
	}
	switch {
	case retryState(pe.Code), pe.Code == "55P03": // 55P03: lock_timeout
		return errContention.Because(err)
	case awayState(pe.Code):
		return errDatabaseAway.Because(err)
	case pe.Code == "22021": // a byte that no text may have
		return errText.Because(err)
	case pe.Code == "57014": // statement_timeout
		return errContention.Because(err)
	}
	return err
}

// Violates reports whether err comes from the named constraint.
func Violates(err error, constraint string) bool {
	var pe *pgconn.PgError
	return errors.As(err, &pe) && pe.ConstraintName == constraint
}

// Transient reports whether the same work may succeed a moment later.
func Transient(err error) bool {
	var pe *pgconn.PgError
	if errors.As(err, &pe) {
		return retryState(pe.Code) || awayState(pe.Code) || pe.Code == "55P03" || pe.Code == "57014"
	}
	return connectionLost(err) || errors.Is(err, context.DeadlineExceeded) || errors.Is(err, context.Canceled)
}

func retryable(err error) bool {
	var pe *pgconn.PgError
	return errors.As(err, &pe) && retryState(pe.Code)
}

// retryState: serialisation failure and deadlock.
func retryState(code string) bool { return code == "40001" || code == "40P01" }

// awayState: connection exceptions, no more connections, shutting or starting, and a
// primary that has become a standby.
func awayState(code string) bool {
	return strings.HasPrefix(code, "08") || slices.Contains([]string{"53300", "57P01", "57P02", "57P03", "25006"}, code)
}

func connectionLost(err error) bool {
	var ce *pgconn.ConnectError
	var ne net.Error
	return errors.As(err, &ce) || errors.As(err, &ne) || pgconn.SafeToRetry(err) ||
		strings.Contains(err.Error(), "conn closed") || strings.Contains(err.Error(), "unexpected EOF")
}
