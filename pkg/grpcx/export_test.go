package grpcx

import (
	"log/slog"
	"time"

	"tackfree/pkg/access"
)

// NewTightServer makes a server with limits that tests can reach.
func NewTightServer(logger *slog.Logger, places int, deadline, grace time.Duration, long ...string) (*Server, error) {
	return newServer(logger, access.NewGuard(nil, time.Now), limits{places: places, wait: 20 * time.Millisecond, deadline: deadline, long: 10 * deadline, grace: grace}, long...)
}

// TraceOf reads a trace context.
var TraceOf = traceOf
