package day

import (
	"context"
	"slices"
	"time"

	"golang.org/x/sync/errgroup"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/clients"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/sold"
	"tackfree/services/gateway/internal/titles"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// floor is who is on what, and what is ready to work.
type floor struct {
	Missing bands.Missing
	Benches []bench
	AtWork  int // people
	Off     []absent
	Ready   ready
}

// floorFacts are what that is seen from.
type floorFacts struct {
	board    []*workflowv1.BoardLine
	entries  []*workflowv1.ClockEntry // that began since the evening before
	people   []*workflowv1.Person
	stations []*workflowv1.Station
	called   map[string]titles.Piece
	sold     map[string]bool // of the pieces that somebody is on: those that are sold
	voice    *words.Voice
	now      time.Time
}

func (d *day) floor(a *web.Asked) (it floor, err error) {
	f, err := d.floorFacts(a)
	if err != nil {
		return it, it.Missing.Of(err)
	}
	it.Benches, it.AtWork, it.Off = f.benches()
	it.Ready = f.ready()
	return it, nil
}

func (d *day) floorFacts(a *web.Asked) (*floorFacts, error) {
	f := &floorFacts{voice: a.Voice, now: a.Now()}
	reading, ctx := errgroup.WithContext(a.Context())
	reading.Go(func() (err error) {
		f.board, err = boardOf(ctx, a.Kit.Suite)
		return err
	})
	reading.Go(func() (err error) {
		if f.entries, err = entriesSince(ctx, a.Kit.Suite, midnight(f.now, a.Voice.Zone).Add(-overnight)); err != nil {
			return err
		}
		f.sold, err = sold.Among(ctx, a.Kit.Suite.Sales, a.Kit.Suite.Floor, f.worked())
		return err
	})
	reading.Go(func() (err error) {
		f.people, err = peopleOf(ctx, a.Kit.Suite)
		return err
	})
	reading.Go(func() error {
		r, err := a.Kit.Suite.Stations.ListStations(ctx, &workflowv1.ListStationsRequest{})
		f.stations = r.GetStations()
		return err
	})
	if err := reading.Wait(); err != nil {
		return f, err
	}
	var err error
	f.called, err = d.called(a, append(piecesOf(f.board), f.worked()...))
	return f, err
}

// worked are the pieces that somebody is on, each once: also of those that the board has no more.
func (f *floorFacts) worked() (pieces []string) {
	for _, e := range f.entries {
		if piece := titles.PieceOf(e.Stage); piece != "" && e.EndTime == nil && !e.Superseded && !slices.Contains(pieces, piece) {
			pieces = append(pieces, piece)
		}
	}
	return pieces
}

// overnight is how long before midnight a clock may have begun that still runs and that the day shows;
// one that is older was forgotten, and waits for the lead.
const overnight = 12 * time.Hour

func entriesSince(ctx context.Context, s *clients.Suite, from time.Time) ([]*workflowv1.ClockEntry, error) {
	return clients.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.ClockEntry, string, error) {
		r, err := s.Clocks.ListClockEntries(ctx, &workflowv1.ListClockEntriesRequest{FromTime: timestamppb.New(from), PageSize: pageSize, PageToken: token})
		return r.GetClockEntries(), r.GetNextPageToken(), err
	})
}
