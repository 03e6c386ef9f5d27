package client

import (
	"context"
	"fmt"
	"strings"

	"google.golang.org/grpc"
)

// nowhere stands in for a service that nobody says where to find: commands that do not
// need it go on.
type nowhere struct{ name string }

func (n nowhere) err() error {
	return fmt.Errorf("nobody says where %s serves: use --%s-addr or TACKFREE_%s_ADDR", n.name, n.name, strings.ToUpper(n.name))
}

// Invoke implements grpc.ClientConnInterface.
func (n nowhere) Invoke(context.Context, string, any, any, ...grpc.CallOption) error { return n.err() }

// NewStream implements grpc.ClientConnInterface.
func (n nowhere) NewStream(context.Context, *grpc.StreamDesc, string, ...grpc.CallOption) (grpc.ClientStream, error) {
	return nil, n.err()
}
