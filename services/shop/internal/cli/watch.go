package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"

	eventsv1 "tackfree/proto/tackfree/events/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type watchCmd struct {
	output
	From  string `help:"From where to go on, as the last line said; without it, from now on." placeholder:"POSITION"`
	Piece string `help:"Only of this piece." placeholder:"TAG"`
}

// Help implements kong.HelpProvider.
func (watchCmd) Help() string {
	return "A line for each thing that happens on the floor, until Ctrl-C. The last word of a line is its position: " +
		"watch again --from that of the last line, and nothing is left out or shown twice."
}

func (c *watchCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		r := &workflowv1.WatchFloorRequest{Position: c.From}
		if c.Piece != "" {
			p, err := shop.Piece(e.ctx, c.Piece)
			if err != nil {
				return err
			}
			r.Piece = p.Name
		}
		stream, err := shop.Floor.WatchFloor(e.ctx, r)
		if err != nil {
			return err
		}
		t := &teller{shop: shop, titles: client.NewTitles(shop), tags: map[string]string{}}
		for {
			resp, err := stream.Recv()
			if errors.Is(err, io.EOF) || errors.Is(err, context.Canceled) || e.ctx.Err() != nil {
				return nil
			}
			if err != nil {
				return err
			}
			if err := c.print(e, resp, func() error { return t.print(e, resp) }); err != nil {
				return err
			}
		}
	})
}

// teller tells events in a line, and remembers what pieces and stages are called.
type teller struct {
	shop   *client.Shop
	titles *client.Titles
	tags   map[string]string // by piece id
}

func (t *teller) print(e *env, resp *workflowv1.WatchFloorResponse) error {
	if resp.Event == nil {
		_, err := fmt.Fprintf(e.out, "watching from  %s\n", resp.Position)
		return err
	}
	terms, err := t.shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	text, err := t.sentence(e.ctx, resp.Event)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(e.out, "%s  %s  %s\n", terms.Clock(resp.Event.OccurredAt), text, resp.Position)
	return err
}

// sentence is the kind of an event, its piece and stage, and what else it says in words.
func (t *teller) sentence(ctx context.Context, e *eventsv1.Envelope) (string, error) {
	m := e.ProtoReflect()
	field := m.WhichOneof(m.Descriptor().Oneofs().ByName("payload"))
	if field == nil {
		return "something that this program does not know", nil
	}
	payload := m.Get(field).Message()
	text := report.Kind(string(field.Name()))
	if e.PieceId != "" {
		piece, err := t.piece(ctx, e.PieceId, payload)
		if err != nil {
			return "", err
		}
		text += ", " + piece
	}
	if said := wordsOf(payload); len(said) > 0 {
		text += ": " + strings.Join(said, ", ")
	}
	return fmt.Sprintf("%s (%s)", text, e.Actor), nil
}

// piece names the piece of an event, and the stage where it is about one.
func (t *teller) piece(ctx context.Context, id string, payload protoreflect.Message) (string, error) {
	if t.tags[id] == "" {
		p, err := t.shop.Piece(ctx, "pieces/"+id)
		if err != nil {
			return "", err
		}
		t.tags[id] = fmt.Sprintf("piece %d", p.Tag)
	}
	stage := stageIn(payload)
	if stage == "" {
		return t.tags[id], nil
	}
	title, err := t.titles.Of(ctx, "pieces/"+id+"/stages/"+stage)
	if err != nil || title == "" {
		return t.tags[id], err
	}
	return title + " of " + t.tags[id], nil
}

// stageIn is the id of the stage that a message is about, or a stretch of work in it; an empty
// text is none.
func stageIn(m protoreflect.Message) string {
	fields := m.Descriptor().Fields()
	if f := fields.ByName("stage_id"); f != nil {
		return m.Get(f).String()
	}
	for _, name := range []protoreflect.Name{"span", "after", "before", "sent"} {
		if f := fields.ByName(name); f != nil && m.Has(f) && f.Message().Name() == "ClockSpan" {
			return stageIn(m.Get(f).Message())
		}
	}
	return ""
}

// named are the fields that say again which stage it is.
var named = []protoreflect.Name{"stage_kind", "stage_key", "part_label"}

// wordsOf are the texts of a message in the order of the contract, and of the messages in it:
// all but ids, and of lists of messages only what is wrong with a stage.
func wordsOf(m protoreflect.Message) (all []string) {
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		f := fields.Get(i)
		if !m.Has(f) || slices.Contains(named, f.Name()) || strings.HasSuffix(string(f.Name()), "_id") || strings.HasSuffix(string(f.Name()), "_ids") {
			continue
		}
		switch v := m.Get(f); {
		case f.IsList() && f.Kind() == protoreflect.StringKind:
			for j := range v.List().Len() {
				all = append(all, report.Kind(v.List().Get(j).String()))
			}
		case f.Name() == "defects":
			for j := range v.List().Len() {
				all = append(all, wordsOf(v.List().Get(j).Message())...)
			}
		case f.IsList():
		case f.Kind() == protoreflect.StringKind:
			all = append(all, report.Kind(v.String()))
		case f.Kind() == protoreflect.BoolKind:
			all = append(all, report.Kind(string(f.Name())))
		case f.Kind() == protoreflect.MessageKind && f.Message().ParentFile().Package() == m.Descriptor().ParentFile().Package():
			all = append(all, wordsOf(v.Message())...)
		}
	}
	return all
}
