package grpcx

import (
	"context"
	"net"

	"google.golang.org/grpc/peer"
)

// Local marks a listener that only this machine's user, or this process, can reach: a call that comes
// through it without an access token is the shop's own, and may do whatever the owner may.
func Local(l net.Listener) net.Listener { return localListener{l} }

// IsLocal reports whether a listener is one that Local marked.
func IsLocal(l net.Listener) bool {
	_, local := l.(localListener)
	return local
}

type localListener struct{ net.Listener }

func (l localListener) Accept() (net.Conn, error) {
	c, err := l.Listener.Accept()
	if err != nil {
		return nil, err
	}
	return localConn{c}, nil
}

// localConn says by its peer's address that it is local: that reaches the calls, and no client
// can say it.
type localConn struct{ net.Conn }

func (c localConn) RemoteAddr() net.Addr { return localAddr{c.Conn.RemoteAddr()} }

type localAddr struct{ net.Addr }

func isLocal(ctx context.Context) bool {
	p, ok := peer.FromContext(ctx)
	if !ok {
		return false
	}
	_, local := p.Addr.(localAddr)
	return local
}
