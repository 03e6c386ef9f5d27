package bench

import (
	"context"
	"fmt"
	"time"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/suite"

	"google.golang.org/protobuf/types/known/timestamppb"
)

const (
	pagesAtWork   = 12 // people on the clock
	pagesDrying   = 30 // pieces with a coat that dries
	pagesPromised = 40
	pagesLoads    = 60                     // how often the page is opened
	pagesEach     = 400 * time.Millisecond // between two commands; a shop of twelve gives one in some minutes
	pagesStreams  = 200
	pagesChanging = 10 // people who are clocked on and off, on pieces that nothing else happens to
	firstChanging = pagesAtWork + pagesDrying
)

// Pages is how the owner's day answers in a shop of 200 pieces, and how soon it shows what changes.
type Pages struct {
	Pieces     int     `json:"pieces"`
	FirstMs    float64 `json:"first_ms"` // of a gateway that has just started, with nothing remembered
	PageP50ms  float64 `json:"page_p50_ms"`
	PageP99ms  float64 `json:"page_p99_ms"`
	SentKB     float64 `json:"sent_kb"` // of the page, as it is sent
	UnpackedKB float64 `json:"unpacked_kb"`

	Changes   int     `json:"changes"`
	EachMs    float64 `json:"each_ms"` // between two of them
	SeenP50ms float64 `json:"seen_p50_ms"`
	SeenP99ms float64 `json:"seen_p99_ms"`

	Streams   int     `json:"streams"`
	StreamsMB float64 `json:"streams_mb"` // what they all cost, with the clients that hold them
}

// RunPages measures the owner's day over loopback with the whole shop in one process: the page of 200
// pieces, as a browser asks for it; how long from an answered command until another browser has fetched
// what shows it; and what open event streams cost.
func RunPages(ctx context.Context, o Options) (r Pages, err error) {
	s, stop, err := start(ctx, o, func(so *suite.Options) { so.Pages = "127.0.0.1:0" })
	if err != nil {
		return r, err
	}
	defer stop()
	ctx = caller.With(ctx, caller.Caller{Actor: "bench"})
	b := &pagesBench{clockBench: &clockBench{suite: s, fastest: 100, callers: 1, pieces: floorPieces}}
	if err := b.fillDay(ctx); err != nil {
		return r, err
	}
	if b.browser, err = signIn(ctx, s); err != nil {
		return r, err
	}
	r = Pages{Pieces: floorPieces, Streams: pagesStreams, EachMs: float64(pagesEach.Milliseconds())}
	for _, measure := range []func(context.Context, Options, *Pages) error{b.loads, b.changes, b.streams} {
		if err := measure(ctx, o, &r); err != nil {
			return r, err
		}
	}
	return r, nil
}

// pagesBench is a floor with a browser that looks at it.
type pagesBench struct {
	*clockBench
	browser *browser
}

// fillDay makes a floor in the middle of a day: 200 pieces, people on the clock, coats that dry,
// promises, and what pieces are called.
func (b *pagesBench) fillDay(ctx context.Context) error {
	if err := b.fillFloor(ctx); err != nil {
		return err
	}
	if err := b.hire(ctx, firstChanging+pagesChanging); err != nil {
		return err
	}
	if err := fillWith(ctx, b.suite, "intake", fmt.Sprintf(`INSERT INTO piece (id, tag, title, kind, client, state, scrap_reason, taken_in_at, version)
		SELECT ('00000000-0000-7000-9000-' || lpad(i::text, 12, '0'))::uuid, i + 1, 'Oak dresser with ' || i || ' drawers', 'dresser', 'Client ' || i, 'in_hand', '', now() - interval '300 days', 1
		FROM generate_series(0, %d) AS i`, floorPieces-1)); err != nil {
		return err
	}
	for n := range pagesDrying {
		if err := b.coat(ctx, pagesAtWork+n); err != nil {
			return err
		}
	}
	for n := range pagesPromised {
		if _, err := b.suite.Shop.Stages.PromisePiece(ctx, &workflowv1.PromisePieceRequest{RequestId: id.New().String(), Piece: pieceName(floorPieces - 1 - n),
			PromiseTime: timestamppb.New(time.Now().Add(time.Duration(n+1) * 12 * time.Hour))}); err != nil {
			return err
		}
	}
	for n := range pagesAtWork {
		if _, err := b.suite.Shop.Clocks.ClockOn(ctx, b.clockOn(n)); err != nil {
			return err
		}
	}
	return nil
}

func pieceName(n int) string { return fmt.Sprintf("pieces/00000000-0000-7000-9000-%012d", n) }

// coat finishes what comes before a piece's first coat, and the coat.
func (b *pagesBench) coat(ctx context.Context, n int) error {
	for _, stage := range []string{fmt.Sprintf("00000000-0000-7000-a000-%012d", n), fmt.Sprintf("00000000-0000-7000-b000-%012d", n*floorStages+2)} {
		if _, err := b.suite.Shop.Stages.FinishStage(ctx, &workflowv1.FinishStageRequest{RequestId: id.New().String(), Stage: pieceName(n) + "/stages/" + stage}); err != nil {
			return err
		}
	}
	return nil
}

// loads opens the page again and again, and looks at what is sent.
func (b *pagesBench) loads(ctx context.Context, o Options, r *Pages) error {
	var took []time.Duration
	for n := range pagesLoads + 1 {
		began := time.Now()
		page, err := b.browser.get(ctx, "/day", "")
		if err != nil {
			return err
		}
		spent := time.Since(began)
		if err := page.whole(); err != nil {
			return err
		}
		if n == 0 {
			r.FirstMs = float64(spent.Microseconds()) / 1000
			continue
		}
		took = append(took, spent)
		r.SentKB, r.UnpackedKB = float64(page.sent)/1000, float64(len(page.body))/1000
	}
	r.PageP50ms, r.PageP99ms = percentile(took, 0.50), percentile(took, 0.99)
	o.Say("the day of %d pieces was opened %d times", floorPieces, pagesLoads)
	return nil
}
