package boot

import (
	"context"
	"log/slog"
	"net"
	"os"
	"os/signal"
	"path/filepath"
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
	if err := alone(ctx, name, c, logger, run); err != nil {
		logger.Error("cannot run", "error", err)
		os.Exit(1)
	}
}

// alone runs a service with dependencies made from its Config.
func alone(ctx context.Context, name string, c Config, logger *slog.Logger, run func(context.Context, Config, Deps) error) error {
	dial, err := c.dialer(name)
	if err != nil {
		return err
	}
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
		Logger: logger, Bus: b, Listeners: []net.Listener{l}, Now: time.Now, Dial: dial,
	})
}

// dialer makes connections to the other services, over which calls bring a token of this one
// if it has the key for it.
func (c Config) dialer(name string) (func(service string) (grpc.ClientConnInterface, error), error) {
	key, err := c.accessKey()
	if err != nil {
		return nil, err
	}
	var options []grpc.DialOption
	if key.Signs() {
		options = append(options, grpcx.WithTokens(key.ForService(name, time.Now)))
	}
	return func(service string) (grpc.ClientConnInterface, error) { return grpcx.Dial(c.addr(service), options...) }, nil
}

// listen serves on host:port or on unix:/path. A socket in a folder that only this user can enter
// is local.
func listen(ctx context.Context, address string) (net.Listener, error) {
	var lc net.ListenConfig
	path, ok := strings.CutPrefix(address, "unix:")
	if !ok {
		return lc.Listen(ctx, "tcp", address)
	}
	l, err := lc.Listen(ctx, "unix", path)
	if err != nil {
		return nil, err
	}
	if info, err := os.Stat(filepath.Dir(path)); err == nil && info.Mode().Perm()&0o077 == 0 {
		return grpcx.Local(l), nil
	}
	return l, nil
}

func level(name string) slog.Level {
	var l slog.Level
	if err := l.UnmarshalText([]byte(name)); err != nil {
		return slog.LevelInfo
	}
	return l
}
