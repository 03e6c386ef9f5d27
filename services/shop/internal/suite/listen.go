package suite

import (
	"context"
	"fmt"
	"net"
	"os"
	"strconv"

	"tackfree/pkg/grpcx"
	"tackfree/services/shop/internal/client"
)

// listeners are those in the process, the socket in the shop's folder and perhaps a port. Whoever
// comes through the first one or the socket, which only this user reaches, needs no access token.
func (s *Suite) listeners(name string, svc *service) ([]net.Listener, error) {
	_ = os.Remove(s.socket(name)) // left by a shop that was killed
	socket, err := new(net.ListenConfig).Listen(context.Background(), "unix", s.socket(name))
	if err != nil {
		return nil, fmt.Errorf("socket of %s: %w", name, err)
	}
	all := []net.Listener{grpcx.Local(svc.inside), svc.edge, grpcx.Local(socket)}
	if s.o.Listen == "" {
		return all, nil
	}
	if err := s.bind(name, svc.place); err != nil {
		return nil, err
	}
	tcp := s.ports[name]
	delete(s.ports, name) // the service closes it from now on
	s.say("%-9s serves on %s", name, tcp.Addr())
	return append(all, tcp), nil
}

// bindAll takes the ports of all services, so that one that is taken is found out before
// anything is made.
func (s *Suite) bindAll() error {
	if err := checkListen(s.o.Listen); err != nil || s.o.Listen == "" {
		return err
	}
	for place, name := range client.Names {
		if s.wanted(name) {
			if err := s.bind(name, place); err != nil {
				return err
			}
		}
	}
	return nil
}

// bind takes a service's port, unless that has been done.
func (s *Suite) bind(name string, place int) error {
	if s.ports[name] != nil {
		return nil
	}
	address, err := portAfter(s.o.Listen, place)
	if err != nil {
		return err
	}
	l, err := new(net.ListenConfig).Listen(context.Background(), "tcp", address)
	if err != nil {
		return fmt.Errorf("%s cannot serve on %s, so choose another --listen: %w", name, address, err)
	}
	s.ports[name] = l
	return nil
}

// checkListen refuses an address that cannot be listened on with one port for each service.
func checkListen(first string) error {
	if first == "" {
		return nil
	}
	_, err := portAfter(first, len(client.Names)-1)
	return err
}

// portAfter is the address with the port that is place after the first; port 0 takes any.
func portAfter(first string, place int) (string, error) {
	host, port, err := net.SplitHostPort(first)
	if err != nil {
		return "", fmt.Errorf("%q is not an address to listen on, such as 127.0.0.1:7411", first)
	}
	last := 65535 - (len(client.Names) - 1)
	n, err := strconv.Atoi(port)
	if err != nil || n < 0 || n > last {
		return "", fmt.Errorf("%q is not a port to listen on: it must be a number up to %d, for the services take the ones after it, or 0 for any", port, last)
	}
	if n > 0 {
		n += place
	}
	return net.JoinHostPort(host, strconv.Itoa(n)), nil
}
