package outbox

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// pageBytes bounds a page of the log well below what gRPC carries in one message.
const pageBytes = 2 << 20

// Server answers EventLogService from the log.
type Server struct {
	eventsv1.UnimplementedEventLogServiceServer
	log *Log
}

// NewServer makes the service of a log.
func NewServer(l *Log) *Server { return &Server{log: l} }

// ListEvents implements EventLogService.
func (s *Server) ListEvents(ctx context.Context, r *eventsv1.ListEventsRequest) (*eventsv1.ListEventsResponse, error) {
	var after int64
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	limit := pageSize(r.PageSize)
	out := &eventsv1.ListEventsResponse{Epoch: s.log.epoch}
	err := s.log.db.View(ctx, func(q pg.Querier) error {
		rows, err := s.events(ctx, q, r, after, limit)
		if err != nil {
			return err
		}
		if r.Encoded {
			out.Bodies, out.NextPageToken, err = onePage(rows, int(limit))
		} else {
			out.Events, out.NextPageToken, err = decodedPage(rows, int(limit))
		}
		return err
	})
	return out, err
}

// onePage reads the bodies of rows of sort key and body up to the limit, or until they are as
// many bytes as a message should hold.
func onePage(rows pgx.Rows, limit int) (bodies [][]byte, next string, err error) {
	defer rows.Close()
	for bytes := 0; rows.Next(); {
		var last int64
		var body []byte
		if err := rows.Scan(&last, &body); err != nil {
			return nil, "", err
		}
		bodies = append(bodies, body)
		if bytes += len(body); bytes >= pageBytes || len(bodies) == limit {
			return bodies, page.Token(last), nil
		}
	}
	return bodies, "", rows.Err()
}

// decodedPage is onePage of events.
func decodedPage(rows pgx.Rows, limit int) (events []*eventsv1.Envelope, next string, err error) {
	bodies, next, err := onePage(rows, limit)
	for i, body := range bodies {
		env := &eventsv1.Envelope{}
		if err := proto.Unmarshal(body, env); err != nil {
			return nil, "", fmt.Errorf("event %d of %d on a page of the log: %w", i+1, len(bodies), err)
		}
		events = append(events, env)
	}
	return events, next, err
}

func (s *Server) events(ctx context.Context, q pg.Querier, r *eventsv1.ListEventsRequest, after int64, limit int32) (pgx.Rows, error) {
	if r.Aggregate == nil {
		return q.Query(ctx, `SELECT id, body FROM event WHERE id > $1 ORDER BY id LIMIT $2`, after, limit)
	}
	aggregate, err := id.Parse(r.Aggregate.Id)
	if err != nil {
		return nil, fault.New(fault.Invalid, "INVALID_NAME", "%q is not an aggregate's id.", r.Aggregate.Id).At("aggregate.id")
	}
	return eventsOf(ctx, q, aggregate, max(after, r.AfterVersion), int(limit))
}

// eventsOf reads events of one aggregate after a version, by version.
func eventsOf(ctx context.Context, q pg.Querier, aggregate id.ID, version int64, limit int) (pgx.Rows, error) {
	return q.Query(ctx, `
		SELECT version, body FROM event WHERE aggregate_id = $1 AND version > $2 ORDER BY version LIMIT $3`, aggregate, version, limit)
}

// ListPieceEvents implements EventLogService. It goes by the piece that an event is about and not by its aggregate, for
// a photo of a piece has versions of its own; and so it tells nothing of a person to whoever gives their id for a piece's.
func (s *Server) ListPieceEvents(ctx context.Context, r *eventsv1.ListPieceEventsRequest) (*eventsv1.ListPieceEventsResponse, error) {
	piece, err := id.One("piece", r.Piece, "pieces")
	if err != nil {
		return nil, err
	}
	var after int64
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	limit := int(pageSize(r.PageSize))
	out := &eventsv1.ListPieceEventsResponse{}
	err = s.log.db.View(ctx, func(q pg.Querier) error {
		rows, err := q.Query(ctx, `SELECT id, body FROM event WHERE piece_id = $1 AND id > $2 ORDER BY id LIMIT $3`, piece, after, limit)
		if err != nil {
			return err
		}
		out.Events, out.NextPageToken, err = decodedPage(rows, limit)
		return err
	})
	return out, err
}

// ListHeads implements EventLogService.
func (s *Server) ListHeads(ctx context.Context, r *eventsv1.ListHeadsRequest) (*eventsv1.ListHeadsResponse, error) {
	var after id.ID
	if err := page.Read(r.PageToken, &after); err != nil {
		return nil, err
	}
	since := time.Unix(0, 0)
	if r.ChangedSince != nil {
		since = r.ChangedSince.AsTime()
	}
	limit := pageSize(r.PageSize)
	out := &eventsv1.ListHeadsResponse{Epoch: s.log.epoch}
	err := s.log.db.View(ctx, func(q pg.Querier) error {
		rows, err := q.Query(ctx, `
			SELECT aggregate_kind, aggregate_id::text, max(version) FROM event
			WHERE recorded_at >= $1 AND aggregate_id > $2
			GROUP BY aggregate_kind, aggregate_id ORDER BY aggregate_id LIMIT $3`, since, after, limit)
		if err != nil {
			return err
		}
		var kind, aggregate string
		var version int64
		_, err = pgx.ForEachRow(rows, []any{&kind, &aggregate, &version}, func() error {
			out.Heads = append(out.Heads, &eventsv1.ListHeadsResponse_Head{
				Aggregate: &eventsv1.Aggregate{Kind: kind, Id: aggregate}, Version: version})
			return nil
		})
		out.NextPageToken = page.Next(out.Heads, limit, func(*eventsv1.ListHeadsResponse_Head) any { return aggregate })
		return err
	})
	return out, err
}

// pageSize is ten times the usual, for the readers are programs.
func pageSize(n int32) int32 {
	if n == 0 {
		return 500
	}
	return page.Size(n)
}
