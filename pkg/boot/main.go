package boot

import (
	"context"
	"log/slog"
	"net"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"
	_ "time/tzdata" // for images that have no zones of their own

	"github.com/alecthomas/kong"
	"google.golang.org/grpc"

	"tackfree/pkg/bus"
	"tackfree/pkg/grpcx"
)

// Main is a service's whole main: flags, signals, broker, listener, run. A service that
// cannot start says why on standard error and exits 1.
func Main(name string, run func(context.Context, Config, Deps) error) {
	var c Config
	kong.Parse(&c, kong.Name(name), kong.Description("The "+name+" service of a refinishing shop."), vars(name))
	logger := slog.New(slog.NewJSONHandler(os.Stderr, &slog.HandlerOptions{Level: level(c.LogLevel)})).With("service", name)
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGINT, syscall.SIGTERM)
	defer stop()
	if err := alone(ctx, c, logger, run); err != nil {
		logger.Error("cannot run", "error", err)
		os.Exit(1)
	}
}

// alone runs a service with dependencies made from its Config.
func alone(ctx context.Context, c Config, logger *slog.Logger, run func(context.Context, Config, Deps) error) error {
	b, err := bus.Connect(c.BrokerURL, logger)
	if err != nil {
		return err
	}
	defer b.Close()
	l, err := listen(ctx, c.Listen)
	if err != nil {
		return err
	}
	return run(ctx, c, Deps{
		Logger: logger, Bus: b, Listeners: []net.Listener{l}, Now: time.Now,
		Dial: func(service string) (grpc.ClientConnInterface, error) { return grpcx.Dial(c.addr(service)) },
	})
}

// listen serves on host:port or on unix:/path.
func listen(ctx context.Context, address string) (net.Listener, error) {
	var lc net.ListenConfig
	if path, ok := strings.CutPrefix(address, "unix:"); ok {
		return lc.Listen(ctx, "unix", path)
	}
	return lc.Listen(ctx, "tcp", address)
}

func level(name string) slog.Level {
	var l slog.Level
	if err := l.UnmarshalText([]byte(name)); err != nil {
		return slog.LevelInfo
	}
	return l
}
