package bench

import (
	"context"
	"slices"
	"strings"
	"sync"
	"time"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/sold"
	"tackfree/services/gateway/internal/titles"
)

// found is what the services said of somebody's work.
type found struct {
	now   time.Time
	day   *workflowv1.GetDayResponse
	next  *workflowv1.ListNextStagesResponse
	board []*workflowv1.BoardLine
	swaps []*workflowv1.Swap

	mu      sync.Mutex
	sold    map[string]bool              // of the pieces that somebody is on, or paused from
	stages  map[string]*workflowv1.Stage // of the pieces that were looked at, by name
	needs   map[string]*materialsv1.Need // by stage
	batches map[string]*batch
}

// batch is what of one the bench shows.
type batch struct {
	tags     []int32
	cautions []*workflowv1.Caution
}

// atOnce is how many calls are made side by side, mostPieces of how many pieces the stages and needs
// are looked at: those at the head of somebody's list.
const (
	atOnce     = 6
	mostPieces = 6
)

// read asks for all that a state is made of, in two rounds: what there is, and what more is to be said of it.
func read(ctx context.Context, s *clients.Suite, person string, now time.Time) (*found, error) {
	f := &found{now: now, stages: map[string]*workflowv1.Stage{}, needs: map[string]*materialsv1.Need{}, batches: map[string]*batch{}}
	g, first := errgroup.WithContext(ctx)
	g.Go(func() (err error) {
		f.day, err = s.Floor.GetDay(first, &workflowv1.GetDayRequest{Person: person})
		return err
	})
	g.Go(func() (err error) {
		f.next, err = s.Stages.ListNextStages(first, &workflowv1.ListNextStagesRequest{Person: person, PageSize: 1})
		return err
	})
	g.Go(func() error {
		r, err := s.Floor.ListBoard(first, &workflowv1.ListBoardRequest{Person: person, PageSize: 100})
		f.board = r.GetLines()
		return err
	})
	g.Go(func() error { return f.readSwaps(first, s, person) })
	if err := g.Wait(); err != nil {
		return nil, err
	}
	return f, f.readMore(ctx, s)
}

func (f *found) readMore(ctx context.Context, s *clients.Suite) error {
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(atOnce)
	for _, piece := range f.pieces() {
		g.Go(func() error { return f.readStages(ctx, s, piece) })
		g.Go(func() error { return f.readNeeds(ctx, s, piece) })
	}
	g.Go(func() (err error) {
		f.sold, err = sold.Among(ctx, s.Sales, s.Floor, f.worked())
		return err
	})
	for _, name := range f.batchNames() {
		g.Go(func() error { return f.readBatch(ctx, s, name) })
	}
	return g.Wait()
}

// worked are the pieces that somebody is on, or paused from.
func (f *found) worked() (all []string) {
	for _, e := range slices.Concat(f.day.Running, f.day.Paused) {
		if piece := titles.PieceOf(e.Stage); piece != "" && !slices.Contains(all, piece) {
			all = append(all, piece)
		}
	}
	return all
}

// pieces are those of what somebody is on, and of what comes next.
func (f *found) pieces() (all []string) {
	note := func(piece string) {
		if piece != "" && len(all) < mostPieces && !slices.Contains(all, piece) {
			all = append(all, piece)
		}
	}
	for _, e := range slices.Concat(f.day.Running, f.day.Paused) {
		note(titles.PieceOf(e.Stage))
	}
	for _, n := range slices.Concat(f.day.Assigned, f.day.NextStages) {
		note(n.Piece)
	}
	return all
}

func (f *found) batchNames() (all []string) {
	note := func(name string) {
		if name != "" && !slices.Contains(all, name) {
			all = append(all, name)
		}
	}
	for _, e := range slices.Concat(f.day.Running, f.day.Paused) {
		note(e.Batch)
	}
	for _, n := range slices.Concat(f.day.Assigned, f.day.NextStages) {
		note(n.Stage.Batch)
	}
	return all
}

func (f *found) readStages(ctx context.Context, s *clients.Suite, piece string) error {
	r, err := s.Stages.ListStages(ctx, &workflowv1.ListStagesRequest{Piece: piece})
	f.mu.Lock()
	defer f.mu.Unlock()
	for _, st := range r.GetStages() {
		f.stages[st.Name] = st
	}
	return err
}

// readNeeds asks how much of what a piece's stages take. Without it there is less to say, no more.
func (f *found) readNeeds(ctx context.Context, s *clients.Suite, piece string) error {
	r, err := s.Needs.ListNeeds(ctx, &materialsv1.ListNeedsRequest{Piece: piece, PageSize: 1000})
	f.mu.Lock()
	defer f.mu.Unlock()
	for _, n := range r.GetNeeds() {
		f.needs[n.Stage] = n
	}
	return new(bands.Missing).Of(err)
}

// readBatch asks for the pieces of a batch, and the cautions of all its stages.
func (f *found) readBatch(ctx context.Context, s *clients.Suite, name string) error {
	r, err := s.Batches.GetBatch(ctx, &workflowv1.GetBatchRequest{Name: name})
	if err != nil {
		return err
	}
	b := &batch{}
	for _, share := range r.Batch.Shares {
		if share.LeftTime != nil {
			continue
		}
		b.tags = append(b.tags, share.PieceTag)
		st, err := s.Stages.GetStage(ctx, &workflowv1.GetStageRequest{Name: share.Stage})
		if err != nil {
			return err
		}
		b.cautions = append(b.cautions, st.Stage.Cautions...)
	}
	slices.SortFunc(b.cautions, func(a, b *workflowv1.Caution) int { return strings.Compare(a.Id, b.Id) })
	b.cautions = slices.CompactFunc(b.cautions, func(a, b *workflowv1.Caution) bool { return a.Id == b.Id })
	f.mu.Lock()
	defer f.mu.Unlock()
	f.batches[name] = b
	return nil
}
