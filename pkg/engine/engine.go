// Package engine asks whether a Docker engine is at hand for tests. Test rig.
package engine

import (
	"context"
	"time"

	"github.com/testcontainers/testcontainers-go"
	"github.com/testcontainers/testcontainers-go/wait"
)

// Has reports whether an engine answers and already has the image: tests never pull.
func Has(ctx context.Context, image string) bool {
	ctx, cancel := context.WithTimeout(ctx, 5*time.Second)
	defer cancel()
	provider, err := testcontainers.NewDockerProvider()
	if err != nil {
		return false
	}
	defer func() { _ = provider.Close() }()
	if provider.Health(ctx) != nil {
		return false
	}
	images, err := provider.ListImages(ctx)
	if err != nil {
		return false
	}
	for _, i := range images {
		if i.Name == image {
			return true
		}
	}
	return false
}

// WaitForPort waits until the container's port accepts connections.
func WaitForPort(port string) testcontainers.CustomizeRequestOption {
	return testcontainers.WithWaitStrategyAndDeadline(time.Minute, wait.ForListeningPort(port))
}
