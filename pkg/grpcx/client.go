package grpcx

import (
	"context"
	"net"
	"net/url"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/credentials/insecure"
	"google.golang.org/grpc/keepalive"
	"google.golang.org/grpc/metadata"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/planted"
)

// What is tried again is whatever ended with UNAVAILABLE: the call never reached a service,
// or its answer was lost, or a part of the suite was away. A command may have been done by
// then; it carries a request_id, so that trying it again does it once.
const serviceConfig = `{"methodConfig":[{"name":[{}],"retryPolicy":{
	"maxAttempts":4,"initialBackoff":"0.05s","maxBackoff":"1s","backoffMultiplier":2,"retryableStatusCodes":["UNAVAILABLE"]}}],
	"retryThrottling":{"maxTokens":10,"tokenRatio":0.1}}`

// Dial makes a client connection to host:port or unix:/path; it connects when first used.
func Dial(target string, options ...grpc.DialOption) (*grpc.ClientConn, error) {
	options = append([]grpc.DialOption{
		grpc.WithTransportCredentials(insecure.NewCredentials()),
		grpc.WithDefaultServiceConfig(serviceConfig),
		grpc.WithDisableServiceConfig(), // or the name server is asked for another: seconds where it is slow or away
		grpc.WithKeepaliveParams(keepalive.ClientParameters{Time: 30 * time.Second, Timeout: 10 * time.Second}),
		grpc.WithChainUnaryInterceptor(clientUnary),
		grpc.WithChainStreamInterceptor(clientStream),
	}, options...)
	if planted.FreshRequestID {
		options = append(options, grpc.WithDisableRetry(), grpc.WithChainUnaryInterceptor(forgetful))
	}
	return grpc.NewClient(target, options...)
}

// WithTokens sends an access token with each call whose caller has none; see caller.Caller.
func WithTokens(token func(context.Context) (string, error)) grpc.DialOption {
	return grpc.WithPerRPCCredentials(tokens(token))
}

// tokens are credentials of each call. They go over plain connections too: where these are not
// on one machine, something around them must encrypt.
type tokens func(context.Context) (string, error)

func (t tokens) GetRequestMetadata(ctx context.Context, _ ...string) (map[string]string, error) {
	if caller.Of(ctx).Token != "" {
		return nil, nil
	}
	token, err := t(ctx)
	if f := fault.Of(err); f != nil {
		return nil, statusOf(f) // or gRPC puts words of its own in place of the fault
	}
	if err != nil || token == "" {
		return nil, err
	}
	return map[string]string{TokenKey: "Bearer " + token}, nil
}

func (tokens) RequireTransportSecurity() bool { return false }

// DialIn makes a client connection through an in-process listener.
func DialIn(dial func(context.Context) (net.Conn, error), options ...grpc.DialOption) (*grpc.ClientConn, error) {
	through := grpc.WithContextDialer(func(ctx context.Context, _ string) (net.Conn, error) { return dial(ctx) })
	return Dial("passthrough:in-process", append(options, through)...)
}

// clientUnary sends the caller along, turns a status back into its fault, and says of a
// command whether it may have been done all the same.
func clientUnary(ctx context.Context, method string, req, reply any, cc *grpc.ClientConn, invoke grpc.UnaryInvoker, opts ...grpc.CallOption) error {
	return unsure(req, FaultOf(invoke(outgoing(ctx), method, req, reply, cc, opts...)))
}

func clientStream(ctx context.Context, desc *grpc.StreamDesc, cc *grpc.ClientConn, method string, streamer grpc.Streamer, opts ...grpc.CallOption) (grpc.ClientStream, error) {
	s, err := streamer(outgoing(ctx), desc, cc, method, opts...)
	if err != nil {
		return nil, FaultOf(err)
	}
	return &faultStream{ClientStream: s}, nil
}

// faultStream says of a command that is sent in parts what clientUnary says of one.
type faultStream struct {
	grpc.ClientStream
	sent any
}

func (s *faultStream) SendMsg(m any) error {
	s.sent = m
	return s.ClientStream.SendMsg(m)
}

func (s *faultStream) RecvMsg(m any) error { return unsure(s.sent, FaultOf(s.ClientStream.RecvMsg(m))) }

func outgoing(ctx context.Context) context.Context {
	c := caller.Of(ctx)
	for key, value := range map[string]string{ActorKey: url.PathEscape(c.Actor), traceParentKey: c.TraceParent, traceStateKey: c.TraceState} {
		if value != "" {
			ctx = metadata.AppendToOutgoingContext(ctx, key, value)
		}
	}
	if c.Token != "" {
		ctx = metadata.AppendToOutgoingContext(ctx, TokenKey, "Bearer "+c.Token)
	}
	return ctx
}
