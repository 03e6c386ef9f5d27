// Package engine asks whether a Docker engine is at hand for tests. Test rig.
package engine

import (
	"context"
	"slices"
	"time"

	"github.com/testcontainers/testcontainers-go"
	"github.com/testcontainers/testcontainers-go/wait"
)

// Has reports whether an engine answers and already has the image, and that of the reaper
// (which removes the containers of killed tests) unless TESTCONTAINERS_RYUK_DISABLED is
// true: tests never pull.
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
	return holds(images, image) && (provider.Config().Config.RyukDisabled || holds(images, reaper))
}

var reaper = testcontainers.ReaperDefaultImage //nolint:staticcheck // nothing that is not deprecated names it

func holds(images []testcontainers.ImageInfo, name string) bool {
	return slices.ContainsFunc(images, func(i testcontainers.ImageInfo) bool { return i.Name == name })
}

// WaitForPort waits until the container's port accepts connections.
func WaitForPort(port string) testcontainers.CustomizeRequestOption {
	return testcontainers.WithWaitStrategyAndDeadline(time.Minute, wait.ForListeningPort(port))
}
