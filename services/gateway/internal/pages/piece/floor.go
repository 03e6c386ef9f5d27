package piece

import (
	"context"
	"sync"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	"tackfree/pkg/fault"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/story"
	"tackfree/services/gateway/internal/web"
)

// floorBand is what the floor knows: layers, plan, clock and story.
type floorBand struct {
	Missing bands.Missing
	Path    string
	Parts   []partView
	// Families are those that the drawings show, for their patterns.
	Families []string
	Plan     planView
	Clock    clockView
	Latest   []happening   // the newest first
	More     bool          // there is more in the story than that
	Away     bands.Missing // of the story: what some service noted is not in it
	Stages   []*workflowv1.Stage
}

// floorFacts is what workflow says of a piece.
type floorFacts struct {
	stages  []*workflowv1.Stage
	plan    *workflowv1.FinishPlan // nil: it goes by routes, or has no plan yet
	dry     []*workflowv1.DryClock
	tests   []*workflowv1.PartTest
	entries []*workflowv1.ClockEntry
	gone    gone
	places  []*workflowv1.Station
	events  []*eventsv1.Envelope
	away    bands.Missing                   // why some are not among them
	sheets  map[string]*typev1.CoatingSheet // by product
}

func loadFloor(a *web.Asked, p *intakev1.Piece) (it floorBand, err error) {
	facts, err := readFloor(a, p)
	if err := it.Missing.Of(err); err != nil || it.Missing != "" {
		return it, err
	}
	it.Path, it.Stages = pathOf(p), facts.stages
	it.Parts = partsOf(p, facts, a.Voice)
	it.Families = familiesOf(it.Parts)
	it.Plan = planOf(facts, a.Now(), a.Voice)
	it.Clock = clockOf(facts, a.Now(), a.User.Leads())
	it.Latest, it.More = latest(story.New(a.Voice, p, facts.stages).At(facts.places), facts.events)
	it.Away = facts.away
	return it, nil
}

// readFloor asks for all of it at once, and then for the sheets of the products that the stages name.
func readFloor(a *web.Asked, p *intakev1.Piece) (f floorFacts, err error) {
	s := a.Kit.Suite
	group, ctx := errgroup.WithContext(a.Context())
	group.Go(func() error {
		r, err := s.Stages.ListStages(ctx, &workflowv1.ListStagesRequest{Piece: p.Name})
		if err == nil {
			f.stages = r.Stages
			err = nameIssued(ctx, s, p.Name, f.stages)
		}
		if err == nil {
			f.sheets, err = sheetsOf(ctx, s, r.Stages)
		}
		return err
	})
	group.Go(func() error {
		r, err := s.Finish.GetFinishPlan(ctx, &workflowv1.GetFinishPlanRequest{Name: p.Name})
		f.plan = r.GetPlan()
		return unless(err, "PLAN_NOT_FOUND")
	})
	group.Go(func() error {
		r, err := s.Climate.ListDryClocks(ctx, &workflowv1.ListDryClocksRequest{Piece: p.Name})
		f.dry = r.GetDryClocks()
		return err
	})
	group.Go(func() error {
		r, err := s.Tests.ListPartTests(ctx, &workflowv1.ListPartTestsRequest{Piece: p.Name})
		f.tests = r.GetTests()
		return err
	})
	group.Go(func() (err error) { f.entries, err = entriesOf(ctx, a, p.Name); return err })
	group.Go(func() (err error) { f.gone, err = goneOf(ctx, s, p); return err })
	group.Go(func() error {
		r, err := s.Stations.ListStations(ctx, &workflowv1.ListStationsRequest{})
		f.places = r.GetStations()
		return err
	})
	var told errgroup.Group // by itself: of a piece that came in this moment, which the floor may not know yet, intake tells
	told.Go(func() (err error) { f.events, f.away, err = eventsOf(a.Context(), s, p.Name); return err })
	err = unless(group.Wait(), "PIECE_NOT_FOUND")
	if unheard := told.Wait(); err == nil {
		err = unheard
	}
	return f, err
}

// unless takes a reason for no error.
func unless(err error, reason string) error {
	if fault.Is(err, reason) {
		return nil
	}
	return err
}

// entriesOf are the piece's clock entries; a helper may see their own alone.
func entriesOf(ctx context.Context, a *web.Asked, piece string) ([]*workflowv1.ClockEntry, error) {
	person := ""
	if !a.User.Leads() {
		person = a.User.Person
	}
	return clients.All(ctx, func(ctx context.Context, token string) ([]*workflowv1.ClockEntry, string, error) {
		r, err := a.Kit.Suite.Clocks.ListClockEntries(ctx, &workflowv1.ListClockEntriesRequest{Person: person, Piece: piece, PageSize: 1000, PageToken: token})
		return r.GetClockEntries(), r.GetNextPageToken(), err
	})
}

// sheetsOf reads the data sheets of what the stages lay. Without materials the layers are drawn all the
// same, as nobody stated them.
func sheetsOf(ctx context.Context, s *clients.Suite, stages []*workflowv1.Stage) (map[string]*typev1.CoatingSheet, error) {
	sheets := map[string]*typev1.CoatingSheet{}
	for _, st := range stages {
		if st.Product != "" {
			sheets[st.Product] = nil
		}
	}
	var mu sync.Mutex
	var away bands.Missing
	var group errgroup.Group
	group.SetLimit(6)
	for _, name := range keys(sheets) {
		group.Go(func() error {
			r, err := s.Materials.GetProduct(ctx, &materialsv1.GetProductRequest{Name: name})
			mu.Lock()
			defer mu.Unlock()
			sheets[name] = r.GetProduct().GetCoatingSheet()
			return away.Of(unless(err, "PRODUCT_NOT_FOUND"))
		})
	}
	return sheets, group.Wait()
}

func keys[V any](m map[string]V) (all []string) {
	for k := range m {
		all = append(all, k)
	}
	return all
}
