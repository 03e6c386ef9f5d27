package suite

import (
	"context"
	"fmt"
	"net"
	"time"

	"tackfree/services/gateway/gatewaysvc"
)

// pages are the gateway as it runs in this process.
type pages struct {
	listener net.Listener
	stop     context.CancelFunc
	ended    chan struct{}
}

// bindPages takes the pages' port, so that one that is taken is found out before anything is made.
func (s *Suite) bindPages() error {
	if s.o.Pages == "" {
		return nil
	}
	l, err := new(net.ListenConfig).Listen(context.Background(), "tcp", s.o.Pages)
	if host, _, malformed := net.SplitHostPort(s.o.Pages); err != nil && s.o.PagesAnywhere && malformed == nil {
		l, err = new(net.ListenConfig).Listen(context.Background(), "tcp", net.JoinHostPort(host, "0"))
	}
	if err != nil {
		return fmt.Errorf("the pages cannot be served on %s, so choose another --pages, or none with --pages off: %w", s.o.Pages, err)
	}
	s.pages = &pages{listener: l}
	return nil
}

// startPages serves the pages, which reach the services as any other client does: with a token for
// each call.
func (s *Suite) startPages() {
	if s.pages == nil {
		return
	}
	ctx, stop := context.WithCancel(context.Background())
	s.pages.stop, s.pages.ended = stop, make(chan struct{})
	deps := gatewaysvc.Deps{Logger: s.o.Logger.With("service", gatewaysvc.Name), Listener: s.pages.listener, Dial: s.Edge, Now: time.Now}
	go func() {
		defer close(s.pages.ended)
		if err := gatewaysvc.Run(ctx, gatewaysvc.Config{}, deps); err != nil && ctx.Err() == nil {
			s.failed <- fmt.Errorf("%s: %w", gatewaysvc.Name, err)
		}
	}()
}

func (s *Suite) stopPages() {
	switch {
	case s.pages == nil:
	case s.pages.stop == nil:
		_ = s.pages.listener.Close()
	default:
		s.pages.stop()
		<-s.pages.ended
	}
}

// PagesURL is where the pages are; empty: nowhere.
func (s *Suite) PagesURL() string {
	if s.pages == nil {
		return ""
	}
	return "http://" + s.pages.listener.Addr().String()
}
