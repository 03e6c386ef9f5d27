package salessvc

import (
	"context"

	"google.golang.org/grpc"

	"tackfree/pkg/outbox"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// ownLog is the service's own log as a producer that it follows, read without a way over the
// network to itself.
type ownLog struct{ log *outbox.Server }

// ListEvents implements eventsv1.EventLogServiceClient.
func (l ownLog) ListEvents(ctx context.Context, r *eventsv1.ListEventsRequest, _ ...grpc.CallOption) (*eventsv1.ListEventsResponse, error) {
	return l.log.ListEvents(ctx, r)
}

// ListPieceEvents implements eventsv1.EventLogServiceClient.
func (l ownLog) ListPieceEvents(ctx context.Context, r *eventsv1.ListPieceEventsRequest, _ ...grpc.CallOption) (*eventsv1.ListPieceEventsResponse, error) {
	return l.log.ListPieceEvents(ctx, r)
}

// ListHeads implements eventsv1.EventLogServiceClient.
func (l ownLog) ListHeads(ctx context.Context, r *eventsv1.ListHeadsRequest, _ ...grpc.CallOption) (*eventsv1.ListHeadsResponse, error) {
	return l.log.ListHeads(ctx, r)
}
