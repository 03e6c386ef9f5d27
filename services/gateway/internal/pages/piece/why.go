package piece

import (
	"context"
	"net/http"
	"slices"
	"strings"

	"golang.org/x/sync/errgroup"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/encoding/protojson"

	"tackfree/pkg/clients"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/web"
)

// reason is an event behind lines of a cost sheet: what was written down, and all that the books made of it.
type reason struct {
	Piece *intakev1.Piece
	Path  string
	ID    string
	Event *eventsv1.Envelope // nil: it is not of the piece itself, but of a person, product or lot
	Kind  string             // clocked_off, material_issued …
	Text  string             // its fields, as they were written
	Lines []entryLine
}

// entryLine is a line of the ledger on its side.
type entryLine struct {
	*costingv1.CostLine
	Debit, Credit *moneyv1.Money // one of the two
}

// Said is what was booked, without its full stop.
func (l entryLine) Said() string { return unstopped(l.Says) }

func why(w http.ResponseWriter, a *web.Asked) error {
	p, err := find(a)
	if err != nil {
		return err
	}
	it := reason{Piece: p, Path: pathOf(p), ID: a.PathValue("event")}
	group, ctx := errgroup.WithContext(a.Context())
	group.Go(func() error {
		lines, err := linesOf(ctx, a.Kit.Suite, &costingv1.ListCostLinesRequest{EventId: it.ID, PageSize: 1000})
		it.Lines = sides(lines)
		return err
	})
	group.Go(func() (err error) { it.Event, err = eventOf(ctx, a.Kit.Suite, idOf(p.Name), it.ID); return err })
	if err := group.Wait(); err != nil {
		return err
	}
	it.Kind, it.Text = written(it.Event)
	return a.Show(w, "why", a.Voice.T("piece.why.title", p.Tag), it)
}

func sides(lines []*costingv1.CostLine) (out []entryLine) {
	for _, l := range lines {
		e := entryLine{CostLine: l, Debit: l.Amount}
		if l.Amount.GetUnits() < 0 || l.Amount.GetNanos() < 0 {
			e.Debit, e.Credit = nil, counted(l.Amount, true)
		}
		out = append(out, e)
	}
	return out
}

// eventOf looks for an event among those that each producer has of the piece; nil: none has it.
func eventOf(ctx context.Context, s *clients.Suite, piece, event string) (*eventsv1.Envelope, error) {
	found := make([]*eventsv1.Envelope, len(clients.Producers))
	group, ctx := errgroup.WithContext(ctx)
	for i, name := range clients.Producers {
		group.Go(func() error {
			all, err := clients.All(ctx, func(ctx context.Context, token string) ([]*eventsv1.Envelope, string, error) {
				r, err := s.Logs[name].ListEvents(ctx, &eventsv1.ListEventsRequest{Aggregate: &eventsv1.Aggregate{Kind: "piece", Id: piece}, PageSize: 1000, PageToken: token})
				return r.GetEvents(), r.GetNextPageToken(), err
			})
			if at := slices.IndexFunc(all, func(e *eventsv1.Envelope) bool { return e.EventId == event }); at >= 0 {
				found[i] = all[at]
			}
			return err
		})
	}
	err := group.Wait()
	for _, e := range found {
		if e != nil {
			return e, err
		}
	}
	return nil, err
}

// written is what an event says: its kind, and its fields as text.
func written(e *eventsv1.Envelope) (kind, text string) {
	if e == nil {
		return "", ""
	}
	m := e.ProtoReflect()
	field := m.WhichOneof(m.Descriptor().Oneofs().ByName("payload"))
	if field == nil {
		return "", ""
	}
	payload := m.Get(field).Message().Interface()
	return string(field.Name()), strings.ReplaceAll(protojson.Format(payload), ":  ", ": ")
}
