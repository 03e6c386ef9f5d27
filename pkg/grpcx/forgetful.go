package grpcx

import (
	"context"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"tackfree/pkg/id"
)

// forgetful is the bug planted.FreshRequestID: whoever it tries again for has forgotten under
// which id the command was given.
func forgetful(ctx context.Context, method string, req, reply any, cc *grpc.ClientConn, invoke grpc.UnaryInvoker, opts ...grpc.CallOption) error {
	err := invoke(ctx, method, req, reply, cc, opts...)
	if status.Code(err) != codes.Unavailable {
		return err
	}
	again := proto.Clone(req.(proto.Message)).ProtoReflect()
	if field := again.Descriptor().Fields().ByName("request_id"); field != nil {
		again.Set(field, protoreflect.ValueOfString(id.New().String()))
	}
	return invoke(ctx, method, again.Interface(), reply, cc, opts...)
}
