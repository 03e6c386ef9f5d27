package piece

import (
	"context"
	"slices"
	"time"

	"golang.org/x/sync/errgroup"
	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/clients"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/web"
)

// nowBand is how it stands with the piece now.
type nowBand struct {
	Missing bands.Missing
	Piece   *intakev1.Piece
	Line    *workflowv1.BoardLine // nil: the floor has not heard of it yet
	State   string                // work, ready, dry, wait, late or done: the look of its state
	Stands  []stand
	Outside []outRow
	Gone    gone                 // how it left the shop
	Back    *workflowv1.Comeback // the open one, for leads; nil: there is none
	// Stations are those to which it can be carried.
	Stations []*workflowv1.Station
}

// stand is where parts of a piece are.
type stand struct {
	Station string // what people call it; empty: outside the shop, or nobody said
	Firm    string // who has it
	Parts   []string
}

// outRow is work that others do, with the day on which it is due.
type outRow struct {
	*workflowv1.OutsideWork
	Due time.Time
}

// dayOf is the noon of a day, by the clock on the shop's wall.
func dayOf(d *date.Date, zone *time.Location) time.Time {
	return time.Date(int(d.GetYear()), time.Month(d.GetMonth()), int(d.GetDay()), 12, 0, 0, 0, zone)
}

// states are the looks of the board's states.
var states = map[workflowv1.BoardLine_State]string{
	workflowv1.BoardLine_STATE_IN_WORK: "work", workflowv1.BoardLine_STATE_READY: "ready", workflowv1.BoardLine_STATE_DRYING: "dry",
	workflowv1.BoardLine_STATE_DONE: "done", workflowv1.BoardLine_STATE_SOLD: "done", workflowv1.BoardLine_STATE_SCRAPPED: "late",
}

func loadNow(a *web.Asked, p *intakev1.Piece) (it nowBand, err error) {
	it.Piece = p
	group, ctx := errgroup.WithContext(a.Context())
	group.Go(func() (err error) { it.Line, err = boardLine(ctx, a.Kit.Suite, p.Name); return err })
	group.Go(func() error {
		r, err := a.Kit.Suite.Stations.ListStations(ctx, &workflowv1.ListStationsRequest{})
		it.Stations = r.GetStations()
		return err
	})
	group.Go(func() (err error) { it.Gone, err = goneOf(ctx, a.Kit.Suite, p); return err })
	if a.User.Leads() {
		group.Go(func() error {
			r, err := a.Kit.Suite.Outside.ListOutsideWork(ctx, &workflowv1.ListOutsideWorkRequest{Piece: p.Name, IncludeBack: true, PageSize: 100})
			for _, o := range r.GetOutsideWork() {
				it.Outside = append(it.Outside, outRow{o, dayOf(o.DueDate, a.Voice.Zone)})
			}
			return err
		})
		group.Go(func() error {
			r, err := a.Kit.Suite.Comebacks.ListComebacks(ctx, &workflowv1.ListComebacksRequest{Piece: p.Name, OpenOnly: true, PageSize: 1})
			if all := r.GetComebacks(); len(all) > 0 {
				it.Back = all[0]
			}
			return unless(err, "PIECE_NOT_FOUND")
		})
	}
	if err := it.Missing.Of(group.Wait()); err != nil {
		return it, err
	}
	it.State = "wait"
	if look, has := states[it.Line.GetState()]; has {
		it.State = look
	}
	it.Stands = standsOf(it.Line.GetPlacements(), it.Stations)
	return it, nil
}

// all are the board's states: a page of a piece is shown whatever became of it.
var all = []workflowv1.BoardLine_State{workflowv1.BoardLine_STATE_IN_WORK, workflowv1.BoardLine_STATE_READY, workflowv1.BoardLine_STATE_DRYING,
	workflowv1.BoardLine_STATE_AWAY, workflowv1.BoardLine_STATE_DONE, workflowv1.BoardLine_STATE_SCRAPPED, workflowv1.BoardLine_STATE_UNPLANNED,
	workflowv1.BoardLine_STATE_SOLD}

// boardLine finds the piece's line of the board, which is listed by tag; nil: there is none yet.
func boardLine(ctx context.Context, s *clients.Suite, piece string) (*workflowv1.BoardLine, error) {
	lines, err := clients.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.BoardLine, string, error) {
		r, err := s.Floor.ListBoard(ctx, &workflowv1.ListBoardRequest{States: all, PageSize: 1000, PageToken: token})
		return r.GetLines(), r.GetNextPageToken(), err
	})
	if i := slices.IndexFunc(lines, func(l *workflowv1.BoardLine) bool { return l.Piece == piece }); i >= 0 {
		return lines[i], err
	}
	return nil, err
}

// standsOf gathers the parts by where they are, in the order in which they are named.
func standsOf(placements []*workflowv1.Placement, stations []*workflowv1.Station) (out []stand) {
	for _, p := range placements {
		s := stand{Firm: p.Firm}
		if i := slices.IndexFunc(stations, func(s *workflowv1.Station) bool { return s.Name == p.Station }); i >= 0 {
			s.Station = stations[i].DisplayName
		}
		at := slices.IndexFunc(out, func(o stand) bool { return o.Station == s.Station && o.Firm == s.Firm })
		if at < 0 {
			out, at = append(out, s), len(out)
		}
		if p.PartLabel != "" {
			out[at].Parts = append(out[at].Parts, p.PartLabel)
		}
	}
	return out
}
