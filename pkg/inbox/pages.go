package inbox

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"sync"
	"time"

	"google.golang.org/protobuf/proto"

	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// ahead is how many pages of a log wait, and the next is read, while others are at work.
const ahead = 1

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
// after the other, in about the order in which their events were recorded.
func EachPageOfAll(ctx context.Context, producers map[string]eventsv1.EventLogServiceClient, fn func(context.Context, []Event) error) error {
	var readers []reader
	for _, name := range slices.Sorted(maps.Keys(producers)) {
		readers = append(readers, func(ctx context.Context, out chan<- leaf) error {
			if err := readLog(ctx, producers[name], &eventsv1.ListEventsRequest{}, out); err != nil {
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

// began is when the first event of the page was recorded; of an empty one long ago.
func (p leaf) began() time.Time {
	if len(p.events) == 0 {
		return time.Time{}
	}
	return p.events[0].RecordedAt.AsTime()
}

// reader sends pages, all of them or as many as it can.
type reader func(context.Context, chan<- leaf) error

// merged runs readers and hands what they read to fn, always the oldest page that comes next. The
// first error, of whichever side, ends all of them before it returns.
func merged(ctx context.Context, fn func(context.Context, leaf) error, readers ...reader) error {
	reading, stop := context.WithCancelCause(ctx)
	var all sync.WaitGroup
	defer all.Wait()
	defer stop(nil)
	m := &merge{}
	for _, r := range readers {
		pages := make(chan leaf, ahead)
		m.open = append(m.open, pages)
		all.Go(func() {
			defer close(pages)
			if err := r(reading, pages); err != nil {
				stop(err)
			}
		})
	}
	for {
		p, some := m.next()
		switch {
		case reading.Err() != nil:
			return context.Cause(reading)
		case !some:
			return nil
		}
		if err := fn(ctx, p); err != nil {
			stop(err)
			return err
		}
	}
}

// merge is pages of several logs on their way into one row.
type merge struct {
	open  []<-chan leaf
	heads []leaf // of the first of those that are open, one of each
}

// next waits for a page of every log and takes the oldest; false: there are no more.
func (m *merge) next() (oldest leaf, some bool) {
	for n := len(m.heads); n < len(m.open); n = len(m.heads) {
		if p, more := <-m.open[n]; more {
			m.heads = append(m.heads, p)
		} else {
			m.open = slices.Delete(m.open, n, n+1)
		}
	}
	if len(m.heads) == 0 {
		return leaf{}, false
	}
	at := 0
	for i, p := range m.heads {
		if p.began().Before(m.heads[at].began()) {
			at = i
		}
	}
	oldest, pages := m.heads[at], m.open[at]
	m.heads = slices.Delete(m.heads, at, at+1)
	m.open = append(slices.Delete(m.open, at, at+1), pages) // where the next is waited for
	return oldest, true
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
		if err := p.add(env); err != nil {
			return p, "", err
		}
	}
	for _, env := range resp.Events {
		if err := p.add(env); err != nil {
			return p, "", err
		}
	}
	return p, resp.NextPageToken, nil
}

// add checks an event and puts it on the page.
func (p *leaf) add(env *eventsv1.Envelope) error {
	e, err := read(env, nil) // what is to be kept of it is encoded again, which is seldom
	e.log = p.epoch
	p.events = append(p.events, e)
	return err
}
