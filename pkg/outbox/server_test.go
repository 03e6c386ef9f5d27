package outbox

import (
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// pages reads all pages and returns their events, and how many pages there were.
func (b *bundle) pages(t *testing.T, r *eventsv1.ListEventsRequest) (events []*eventsv1.Envelope, pages int) {
	t.Helper()
	for {
		resp, err := NewServer(b.log).ListEvents(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		if resp.Epoch != b.log.epoch {
			t.Errorf("epoch = %q, want %q", resp.Epoch, b.log.epoch)
		}
		pages++
		events = append(events, resp.Events...)
		if r.PageToken = resp.NextPageToken; r.PageToken == "" {
			return events, pages
		}
	}
}

func of(aggregate id.ID) *eventsv1.Aggregate {
	return &eventsv1.Aggregate{Kind: "piece", Id: aggregate.String()}
}

func TestServer_ListEvents(t *testing.T) {
	b := setup(t)
	b.write(t, dresser, 1, 3)
	b.write(t, table, 1, 2)
	b.write(t, dresser, 4, 5)
	for name, c := range map[string]struct {
		r    *eventsv1.ListEventsRequest
		want string // pieces and versions in order
	}{
		"Whole":        {&eventsv1.ListEventsRequest{}, "d1 d2 d3 t1 t2 d4 d5"},
		"Pages":        {&eventsv1.ListEventsRequest{PageSize: 2}, "d1 d2 d3 t1 t2 d4 d5"},
		"Aggregate":    {&eventsv1.ListEventsRequest{Aggregate: of(dresser)}, "d1 d2 d3 d4 d5"},
		"AfterVersion": {&eventsv1.ListEventsRequest{Aggregate: of(dresser), AfterVersion: 2, PageSize: 2}, "d3 d4 d5"},
		"AfterLast":    {&eventsv1.ListEventsRequest{Aggregate: of(table), AfterVersion: 2}, ""},
		"Nobodys":      {&eventsv1.ListEventsRequest{Aggregate: of(id.New())}, ""},
	} {
		t.Run(name, func(t *testing.T) {
			events, _ := b.pages(t, c.r)
			var got []string
			for _, e := range events {
				got = append(got, map[string]string{dresser.String(): "d", table.String(): "t"}[e.AggregateId]+string(rune('0'+e.Version)))
			}
			if g := strings.Join(got, " "); g != c.want {
				t.Errorf("ListEvents = %q, want %q", g, c.want)
			}
		})
	}
}

// Who asks for them encoded is given the very bytes of the log, on the same pages.
func TestServer_ListEvents_Encoded(t *testing.T) {
	b := setup(t)
	b.write(t, dresser, 1, 5)
	want, _ := b.pages(t, &eventsv1.ListEventsRequest{})
	for r := (&eventsv1.ListEventsRequest{Encoded: true, PageSize: 2}); ; {
		resp, err := NewServer(b.log).ListEvents(t.Context(), r)
		if err != nil || len(resp.Events) > 0 || resp.Epoch != b.log.epoch {
			t.Fatalf("ListEvents = %v, %v, want bodies of epoch %s", resp, err, b.log.epoch)
		}
		for _, body := range resp.Bodies {
			got := &eventsv1.Envelope{}
			if err := proto.Unmarshal(body, got); err != nil || len(want) == 0 || !proto.Equal(got, want[0]) {
				t.Fatalf("an event is %v, %v, and %d others are to come", got, err, len(want))
			}
			want = want[1:]
		}
		if r.PageToken = resp.NextPageToken; r.PageToken == "" {
			break
		}
	}
	if len(want) > 0 {
		t.Errorf("%d events are missing", len(want))
	}
}

// A page must fit into what gRPC carries, however large its events are.
func TestServer_ListEvents_PagesAreBoundedInBytes(t *testing.T) {
	b := setup(t)
	var events []Event
	for v := range int64(10) {
		e := taken(dresser, v+1)
		e.Payload = &eventsv1.PieceTakenIn{Title: strings.Repeat("x", 500_000)}
		events = append(events, e)
	}
	if err := b.append(t.Context(), events...); err != nil {
		t.Fatal(err)
	}
	for _, r := range []*eventsv1.ListEventsRequest{{PageSize: 1000}, {PageSize: 1000, Aggregate: of(dresser)}} {
		first, err := NewServer(b.log).ListEvents(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		if size := proto.Size(first); size > 4<<20 {
			t.Errorf("a page of %d bytes is more than gRPC carries", size)
		}
		if all, pages := b.pages(t, r); len(all) != 10 || pages < 2 || all[9].Version != 10 {
			t.Errorf("%d events on %d pages, want all 10 on more than one", len(all), pages)
		}
	}
}

// A piece's own events alone are told to those who may ask of pieces: not a person's, whose id they might give.
func TestServer_ListPieceEvents(t *testing.T) {
	b := setup(t)
	nell := id.New()
	b.write(t, dresser, 1, 3)
	b.write(t, table, 1, 1)
	if err := b.append(t.Context(), Event{Kind: "person", Aggregate: nell, Version: 1, OccurredAt: noon, Payload: &eventsv1.PersonAdded{DisplayName: "Nell"}}); err != nil {
		t.Fatal(err)
	}
	// A photo has versions of its own, and is one of the piece.
	if err := b.append(t.Context(), Event{Kind: "photo", Aggregate: id.New(), Version: 1, Piece: dresser, OccurredAt: noon, Payload: &eventsv1.PieceTakenIn{}}); err != nil {
		t.Fatal(err)
	}
	for piece, want := range map[id.ID][]int64{dresser: {1, 2, 3, 1}, table: {1}, nell: nil, id.New(): nil} {
		r, got := &eventsv1.ListPieceEventsRequest{Piece: id.Name("pieces", piece), PageSize: 2}, []int64(nil)
		for more := true; more; more = r.PageToken != "" {
			page, err := NewServer(b.log).ListPieceEvents(t.Context(), r)
			if err != nil || len(page.Events) > 2 {
				t.Fatalf("ListPieceEvents(%v) = %v, %v", r, page, err)
			}
			for _, e := range page.Events {
				if got = append(got, e.Version); e.PieceId != piece.String() || e.GetPieceTakenIn() == nil {
					t.Errorf("of %s it tells %v", piece, e)
				}
			}
			r.PageToken = page.NextPageToken
		}
		if !slices.Equal(got, want) {
			t.Errorf("of %s the versions are %v, want %v", piece, got, want)
		}
	}
	for reason, r := range map[string]*eventsv1.ListPieceEventsRequest{
		"INVALID_NAME":       {Piece: dresser.String()},
		"INVALID_PAGE_TOKEN": {Piece: id.Name("pieces", dresser), PageToken: "of another list"},
	} {
		if _, err := NewServer(b.log).ListPieceEvents(t.Context(), r); !fault.Is(err, reason) {
			t.Errorf("ListPieceEvents(%v) = %v, want %s", r, err, reason)
		}
	}
}

func TestServer_ListEvents_Refusals(t *testing.T) {
	b := setup(t)
	for reason, r := range map[string]*eventsv1.ListEventsRequest{
		"INVALID_NAME":       {Aggregate: &eventsv1.Aggregate{Id: "dresser"}},
		"INVALID_PAGE_TOKEN": {PageToken: "of another list"},
	} {
		if _, err := NewServer(b.log).ListEvents(t.Context(), r); !fault.Is(err, reason) {
			t.Errorf("ListEvents(%v) = %v, want %s", r, err, reason)
		}
	}
}

func TestServer_ListHeads(t *testing.T) {
	b := setup(t)
	b.write(t, dresser, 1, 3)
	b.write(t, table, 1, 1)
	b.scan(t, "WITH aged AS (UPDATE event SET recorded_at = recorded_at - interval '1 day' WHERE aggregate_id = '"+
		table.String()+"' RETURNING 1) SELECT count(*) FROM aged", new(int))
	heads := func(r *eventsv1.ListHeadsRequest) map[string]int64 {
		got := map[string]int64{}
		for {
			resp, err := NewServer(b.log).ListHeads(t.Context(), r)
			if err != nil {
				t.Fatal(err)
			}
			for _, h := range resp.Heads {
				if h.Aggregate.Kind != "piece" || resp.Epoch != b.log.epoch || len(resp.Heads) > int(pageSize(r.PageSize)) {
					t.Errorf("ListHeads = %v", resp)
				}
				got[h.Aggregate.Id] = h.Version
			}
			if r.PageToken = resp.NextPageToken; r.PageToken == "" {
				return got
			}
		}
	}
	all := heads(&eventsv1.ListHeadsRequest{PageSize: 1})
	if len(all) != 2 || all[dresser.String()] != 3 || all[table.String()] != 1 {
		t.Errorf("all heads = %v", all)
	}
	late := heads(&eventsv1.ListHeadsRequest{ChangedSince: timestamppb.New(noon.Add(-time.Hour))})
	if len(late) != 1 || late[dresser.String()] != 3 {
		t.Errorf("heads changed in the last hour = %v, want the dresser's", late)
	}
	if _, err := NewServer(b.log).ListHeads(t.Context(), &eventsv1.ListHeadsRequest{PageToken: "NQ"}); !fault.Is(err, "INVALID_PAGE_TOKEN") {
		t.Errorf("a number as token: %v, want INVALID_PAGE_TOKEN", err)
	}
}
