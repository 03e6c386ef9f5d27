package inbox

import (
	"context"
	"fmt"
	"sync"

	"google.golang.org/protobuf/proto"

	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// ahead is how many pages are read while one is at work; no more than that and one of each reader
// are held.
const ahead = 4

// EachPage reads a producer's events page by page and hands each page to fn. While fn has one, the
// next ones are read.
func EachPage(ctx context.Context, producer eventsv1.EventLogServiceClient, r *eventsv1.ListEventsRequest, fn func(context.Context, []Event) error) error {
	return eachPage(ctx, producer, r, func(ctx context.Context, _ string, events []Event) error { return fn(ctx, events) })
}

func eachPage(ctx context.Context, producer eventsv1.EventLogServiceClient, r *eventsv1.ListEventsRequest, fn func(ctx context.Context, epoch string, events []Event) error) error {
	return merged(ctx, func(ctx context.Context, p leaf) error { return fn(ctx, p.epoch, p.events) },
		func(ctx context.Context, out chan<- leaf) error { return readLog(ctx, producer, r, out) })
}

// EachPageOfAll reads the whole logs of several producers at once and hands their pages to fn, one
// at a time: those of a producer in their order, and of the producers in any.
func EachPageOfAll(ctx context.Context, producers map[string]eventsv1.EventLogServiceClient, fn func(context.Context, []Event) error) error {
	var readers []func(context.Context, chan<- leaf) error
	for name, producer := range producers {
		readers = append(readers, func(ctx context.Context, out chan<- leaf) error {
			if err := readLog(ctx, producer, &eventsv1.ListEventsRequest{}, out); err != nil {
				return fmt.Errorf("read %s: %w", name, err)
			}
			return nil
		})
	}
	return merged(ctx, func(ctx context.Context, p leaf) error { return fn(ctx, p.events) }, readers...)
}

// leaf is a page that was read.
type leaf struct {
	epoch  string
	events []Event
}

// merged runs readers and hands what they read to fn. The first error, of whichever side, ends
// all of them before it returns.
func merged(ctx context.Context, fn func(context.Context, leaf) error, readers ...func(context.Context, chan<- leaf) error) error {
	reading, stop := context.WithCancelCause(ctx)
	pages := make(chan leaf, ahead)
	var all sync.WaitGroup
	for _, r := range readers {
		all.Go(func() {
			if err := r(reading, pages); err != nil {
				stop(err)
			}
		})
	}
	go func() {
		all.Wait()
		close(pages)
	}()
	for p := range pages {
		if reading.Err() != nil {
			continue // the readers are on their way home
		}
		if err := fn(ctx, p); err != nil {
			stop(err)
		}
	}
	defer stop(nil)
	return context.Cause(reading)
}

// readLog reads a log page by page.
func readLog(ctx context.Context, producer eventsv1.EventLogServiceClient, r *eventsv1.ListEventsRequest, out chan<- leaf) error {
	r.PageSize, r.Encoded = fetchPage, true
	for {
		p, next, err := readPage(ctx, producer, r)
		if err != nil {
			return err
		}
		select {
		case out <- p:
		case <-ctx.Done():
			return context.Cause(ctx)
		}
		if r.PageToken = next; next == "" {
			return nil
		}
	}
}

func readPage(ctx context.Context, producer eventsv1.EventLogServiceClient, r *eventsv1.ListEventsRequest) (p leaf, next string, err error) {
	ctx, cancel := context.WithTimeout(ctx, answerTime)
	defer cancel()
	resp, err := producer.ListEvents(ctx, r)
	if err != nil {
		return p, "", err
	}
	p = leaf{epoch: resp.Epoch, events: make([]Event, 0, len(resp.Bodies)+len(resp.Events))}
	for _, body := range resp.Bodies {
		env := &eventsv1.Envelope{}
		if err := proto.Unmarshal(body, env); err != nil {
			return p, "", fmt.Errorf("an event of the log is no envelope: %w", err)
		}
		if err := p.add(env, body); err != nil {
			return p, "", err
		}
	}
	for _, env := range resp.Events {
		if err := p.add(env, nil); err != nil {
			return p, "", err
		}
	}
	return p, resp.NextPageToken, nil
}

// add checks an event and puts it on the page.
func (p *leaf) add(env *eventsv1.Envelope, body []byte) error {
	e, err := read(env, body)
	e.log = p.epoch
	p.events = append(p.events, e)
	return err
}
