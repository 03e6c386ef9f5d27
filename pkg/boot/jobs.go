package boot

import (
	"context"
	"time"

	healthv1 "google.golang.org/grpc/health/grpc_health_v1"

	"tackfree/pkg/once"
)

// pulse is how a service watches its database: how often, and how long it may be away
// before the service says so. The broker is not asked: without it everything is still
// kept, only later seen.
type pulse struct{ every, patience time.Duration }

var usualPulse = pulse{every: time.Second, patience: 3 * time.Second}

func (s *Service) watchHealth(ctx context.Context) {
	lastSeen := time.Now()
	for ctx.Err() == nil {
		ping, cancel := context.WithTimeout(ctx, time.Second)
		if s.DB.Ping(ping) == nil {
			lastSeen = time.Now()
		}
		cancel()
		s.tellHealth(time.Since(lastSeen) < s.pulse.patience)
		wait(ctx, s.pulse.every)
	}
}

func (s *Service) tellHealth(ok bool) {
	status := healthv1.HealthCheckResponse_SERVING
	if !ok {
		status = healthv1.HealthCheckResponse_NOT_SERVING
	}
	s.GRPC.Health.SetServingStatus("", status)
	for name := range s.GRPC.GetServiceInfo() {
		s.GRPC.Health.SetServingStatus(name, status)
	}
}

// purge forgets old answers to commands.
func (s *Service) purge(ctx context.Context) {
	for ctx.Err() == nil {
		if err := once.Purge(ctx, s.DB, s.Now()); err != nil && ctx.Err() == nil {
			s.Logger.WarnContext(ctx, "purge of old answers", "error", err)
		}
		wait(ctx, time.Hour)
	}
}
