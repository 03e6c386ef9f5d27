// Package gatewaysvc wires the gateway together: the only part of it that others may import.
//
//	browser, phone ─▶ pages ──┐
//	other programs ─▶ edge ───┴─▶ gRPC, with the access token of whoever asks ─▶ the services
//
// The gateway is a client as any other: it keeps nothing and decides nothing.
package gatewaysvc

import (
	"context"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/clients"
	"tackfree/services/gateway/internal/edge"
	"tackfree/services/gateway/internal/live"
	"tackfree/services/gateway/internal/pages/door"
	"tackfree/services/gateway/internal/web"
)

// Name is the service's name.
const Name = "gateway"

// Config is how the gateway is set up.
type Config struct {
	Secure  bool     // it is reached over TLS, by itself or a proxy before it
	Origins []string // other sites whose scripts may use the JSON edge; usually none
}

// Deps is what the gateway is given rather than makes.
type Deps struct {
	Logger   *slog.Logger
	Listener net.Listener
	Dial     func(service string) (grpc.ClientConnInterface, error) // where each call needs a token
	Now      func() time.Time
}

// grace is how long answers in the making have when the gateway stops.
const grace = 4 * time.Second

// Run serves until ctx ends.
func Run(ctx context.Context, c Config, d Deps) error {
	suite, err := clients.Use(d.Dial)
	if err != nil {
		return err
	}
	kit := web.New(&web.Kit{Suite: suite, Keeper: &web.Keeper{Door: door.Door{SignInServiceClient: suite.SignIn}, Now: d.Now},
		Logger: d.Logger, Now: d.Now, Secure: c.Secure})
	hub := live.New(&live.Hub{Suite: suite, Logger: d.Logger, Borrow: kit.Borrow})
	if err := mount(kit, hub, c, d); err != nil {
		return err
	}
	return serve(ctx, kit.Handler(), hub, d)
}

// mount puts everything where it is asked for.
func mount(kit *web.Kit, hub *live.Hub, c Config, d Deps) error {
	for _, p := range pages {
		kit.Handle(p())
	}
	kit.Handle(web.Page{Routes: map[string]web.Handler{"GET " + web.LivePath: hub.Serve}})
	json, err := edge.New(edge.Config{Conns: d.Dial, Token: kit.Token, Logger: d.Logger, Origins: c.Origins})
	if err != nil {
		return err
	}
	for _, path := range []string{"/v1/", "/openapi.json"} {
		kit.Mount(path, json)
	}
	return nil
}

// serve serves until ctx ends: then streams end, and what is short is still answered.
func serve(ctx context.Context, h http.Handler, hub *live.Hub, d Deps) error {
	server := &http.Server{Handler: h, ReadHeaderTimeout: 10 * time.Second, ReadTimeout: 2 * time.Minute, WriteTimeout: 2 * time.Minute,
		IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 32 << 10, ErrorLog: slog.NewLogLogger(d.Logger.Handler(), slog.LevelDebug)}
	ctx, stop := context.WithCancel(ctx)
	var watching sync.WaitGroup
	watching.Go(func() { hub.Run(ctx) })
	defer watching.Wait()
	defer stop()
	served := make(chan error, 1)
	d.Logger.Info("serving pages", "address", d.Listener.Addr().String())
	go func() { served <- server.Serve(d.Listener) }()
	select {
	case err := <-served:
		return err
	case <-ctx.Done():
	}
	last, cancel := context.WithTimeout(context.WithoutCancel(ctx), grace)
	defer cancel()
	if server.Shutdown(last) != nil {
		_ = server.Close() // whoever still listens has had their time
	}
	return nil
}
