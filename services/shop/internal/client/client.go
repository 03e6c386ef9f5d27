// Package client is the shop's services as a program sees them: one client for each, and
// ways to find things by the words people use for them.
package client

import (
	"context"
	"errors"
	"sync"

	"google.golang.org/grpc"

	"tackfree/pkg/clients"
	"tackfree/pkg/grpcx"
)

// Names are the services, in the order they are shown.
var Names = clients.Names

// Producers are those of them that write events.
var Producers = clients.Producers

// Shop is a client of every service.
type Shop struct {
	*clients.Suite

	conns []*grpc.ClientConn

	asking sync.Mutex
	terms  *Terms
}

// Dial makes the clients; targets gives host:port or unix:/path for each service. They
// connect when first used; one that nobody says where to find is an error only then.
// options go to each connection.
func Dial(targets map[string]string, options ...grpc.DialOption) (*Shop, error) {
	var opened []*grpc.ClientConn
	s, err := Use(func(name string) (grpc.ClientConnInterface, error) {
		if targets[name] == "" {
			return nowhere{name}, nil
		}
		c, err := grpcx.Dial(targets[name], options...)
		if err == nil {
			opened = append(opened, c)
		}
		return c, err
	})
	if err != nil {
		return nil, errors.Join(err, closeAll(opened))
	}
	s.conns = opened
	return s, nil
}

// Use makes the clients from connections that somebody else makes and closes.
func Use(conn func(name string) (grpc.ClientConnInterface, error)) (*Shop, error) {
	suite, err := clients.Use(conn)
	if err != nil {
		return nil, err
	}
	return &Shop{Suite: suite}, nil
}

// Close closes the connections that Dial made.
func (s *Shop) Close() error { return closeAll(s.conns) }

func closeAll(conns []*grpc.ClientConn) error {
	var all error
	for _, c := range conns {
		all = errors.Join(all, c.Close())
	}
	return all
}

// All reads every page of a list.
func All[T any](ctx context.Context, page func(ctx context.Context, token string) (items []T, next string, err error)) ([]T, error) {
	return clients.All(ctx, page)
}
