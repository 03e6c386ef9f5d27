package grpcx_test

import (
	"testing"

	"google.golang.org/grpc"
	"google.golang.org/grpc/resolver"

	"tackfree/pkg/grpcx"
)

// probe is a resolver that only notes how it was asked.
type probe struct{ asked chan resolver.BuildOptions }

func (p probe) Scheme() string { return "probe" }

func (p probe) Build(_ resolver.Target, cc resolver.ClientConn, o resolver.BuildOptions) (resolver.Resolver, error) {
	p.asked <- o
	return p, cc.UpdateState(resolver.State{Addresses: []resolver.Address{{Addr: "127.0.0.1:1"}}})
}

func (probe) ResolveNow(resolver.ResolveNowOptions) {}
func (probe) Close()                                {}

// Where the services have names, a connection must not wait for a name server to say
// that it knows no settings for them.
func TestDial_AsksNobodyForSettings(t *testing.T) {
	p := probe{asked: make(chan resolver.BuildOptions, 1)}
	conn, err := grpcx.Dial("probe:///intake", grpc.WithResolvers(p))
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	conn.Connect()
	if o := <-p.asked; !o.DisableServiceConfig {
		t.Error("the resolver looks for a service config")
	}
}
