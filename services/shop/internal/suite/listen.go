package suite

import (
	"context"
	"fmt"
	"net"
	"os"
	"strconv"

	"tackfree/services/shop/internal/client"
)

// listeners are the in-process one, the socket in the shop's folder and perhaps a port.
func (s *Suite) listeners(name string, svc *service) ([]net.Listener, error) {
	_ = os.Remove(s.socket(name)) // left by a shop that was killed
	var lc net.ListenConfig
	socket, err := lc.Listen(context.Background(), "unix", s.socket(name))
	if err != nil {
		return nil, fmt.Errorf("socket of %s: %w", name, err)
	}
	all := []net.Listener{svc.inside, socket}
	if s.o.Listen == "" {
		return all, nil
	}
	address, err := portAfter(s.o.Listen, svc.place)
	if err != nil {
		return nil, err
	}
	tcp, err := lc.Listen(context.Background(), "tcp", address)
	if err != nil {
		return nil, fmt.Errorf("%s cannot serve on %s, so choose another --listen: %w", name, address, err)
	}
	s.say("%-9s serves on %s", name, tcp.Addr())
	return append(all, tcp), nil
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
