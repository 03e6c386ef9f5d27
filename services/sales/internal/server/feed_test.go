package server_test

import (
	"context"
	"sync"
	"testing"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/svctest"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/sales/salessvc"
)

// gallery is intake's photos, by piece.
type gallery struct {
	intakev1.UnimplementedPhotoServiceServer
	photos map[string][]*intakev1.Photo

	crowd func() (leave func()) // told of who asks; nil: nobody is
}

func (g *gallery) ListPhotos(_ context.Context, r *intakev1.ListPhotosRequest) (*intakev1.ListPhotosResponse, error) {
	if g.crowd != nil {
		defer g.crowd()()
	}
	return &intakev1.ListPhotosResponse{Photos: g.photos[r.Piece]}, nil
}

// bench is workflow's stages, by piece.
type bench struct {
	workflowv1.UnimplementedStageServiceServer
	stages map[string][]*workflowv1.Stage
	away   bool
}

func (w *bench) ListStages(_ context.Context, r *workflowv1.ListStagesRequest) (*workflowv1.ListStagesResponse, error) {
	if w.away {
		return nil, fault.New(fault.Unavailable, "DATABASE_UNAVAILABLE", "The database cannot be reached.")
	}
	return &workflowv1.ListStagesResponse{Stages: w.stages[r.Piece]}, nil
}

// showroom is a shop with photos and stages.
func showroom(t *testing.T) (*bundle, *gallery, *bench) {
	t.Helper()
	intake, photos, work := &intakeFake{pieces: map[string]*intakev1.Piece{}}, &gallery{photos: map[string][]*intakev1.Photo{}}, &bench{stages: map[string][]*workflowv1.Stage{}}
	in := svctest.Fake(t, func(r grpc.ServiceRegistrar) {
		intakev1.RegisterIntakeServiceServer(r, intake)
		intakev1.RegisterPhotoServiceServer(r, photos)
	})
	floor := svctest.Fake(t, func(r grpc.ServiceRegistrar) { workflowv1.RegisterStageServiceServer(r, work) })
	s := svctest.Start(t, salessvc.Name, salessvc.Run, svctest.Options{SignIn: true, Peers: map[string]grpc.ClientConnInterface{"intake": in, "workflow": floor}})
	return over(s, intake), photos, work
}

// dresser takes a dresser in of which much is known; its first coat is done and its second only planned.
func dresser(b *bundle, photos *gallery, work *bench) string {
	name := b.piece()
	p := b.intake.pieces[name]
	p.Title, p.Kind, p.Size, p.Condition = "Pine dresser", "dresser", typev1.PieceSize_PIECE_SIZE_MEDIUM, typev1.PieceCondition_PIECE_CONDITION_WORN
	p.Parts = []*intakev1.Part{{Label: "top", Length: &typev1.Quantity{Value: "110", Unit: "cm"}}, {Label: "drawer", Count: 4}}
	work.stages[name] = []*workflowv1.Stage{{Kind: "sand", PartLabel: "top", State: workflowv1.Stage_STATE_FINISHED},
		{Kind: "paint_coat", PartLabel: "top", ProductName: "Chalk white", State: workflowv1.Stage_STATE_FINISHED},
		{Kind: "paint_coat", PartLabel: "top", ProductName: "Chalk white", State: workflowv1.Stage_STATE_READY}}
	photos.photos[name] = []*intakev1.Photo{{Name: "photos/1", Moment: intakev1.Photo_MOMENT_BEFORE}, {Name: "photos/2", Moment: intakev1.Photo_MOMENT_DEFECT},
		{Name: "photos/3", Moment: intakev1.Photo_MOMENT_AFTER}, {Name: "photos/4", Moment: intakev1.Photo_MOMENT_AFTER}}
	return name
}

const dresserText = "Kind: dresser. Size: medium; two people carry it. Parts: top (110 cm long); 4 × drawer. It came to the shop worn on its surface. Coats on the top: 1 of paint (Chalk white)."

func TestServer_GetListingText(t *testing.T) {
	b, photos, work := showroom(t)
	piece := dresser(b, photos, work)
	r := &salesv1.GetListingTextRequest{Piece: piece}
	got, err := b.GetListingText(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	text := ""
	for _, line := range got.Text.Lines {
		text += line.Text + " "
		if len(line.Facts) == 0 {
			t.Errorf("%q names no fact", line.Text)
		}
	}
	if text != dresserText+" " || got.Text.Title != "Pine dresser" {
		t.Errorf("text %q of %q, want %q", text, got.Text.Title, dresserText)
	}
	if len(got.Text.NotKnown) != 1 || got.Text.NotKnown[0] != "look" {
		t.Errorf("not known is %v, want its look", got.Text.NotKnown)
	}
	differ(t, "fact", &salesv1.ListingText_Fact{Source: salesv1.ListingText_Fact_SOURCE_WORKFLOW, What: "coat", Value: "top: 1 of paint (Chalk white)"}, got.Text.Lines[4].Facts[0])
	refused := func(piece string, kind fault.Kind, reason string) {
		t.Helper()
		svctest.Refused(t, b.Service, b.GetListingText, &salesv1.GetListingTextRequest{Piece: piece}, kind, reason)
	}
	refused(id.Name("pieces", id.New()), fault.NotFound, "PIECE_NOT_FOUND")
	refused(b.commission(), fault.Precondition, "PIECE_IS_COMMISSION")
	refused(b.intake.take(intakev1.Piece_STATE_SCRAPPED), fault.Precondition, "PIECE_SCRAPPED")
	refused("dresser", fault.Invalid, "INVALID_NAME")
	work.away = true
	refused(piece, fault.Unavailable, "DATABASE_UNAVAILABLE") // rather than a text without its coats
}

func TestServer_ListFeed(t *testing.T) {
	b, photos, work := showroom(t)
	piece, sold, withdrawn, scrapped, web := dresser(b, photos, work), b.piece(), b.piece(), b.piece(), b.piece()
	for _, p := range []string{piece, sold, withdrawn, scrapped} {
		b.list(t, p)
	}
	both := list(web)
	both.OtherChannels = []string{"Web"}
	if _, err := b.CreateListing(svctest.Ctx(t), both); err != nil {
		t.Fatal(err)
	}
	b.sell(t, sold)
	if _, err := b.WithdrawListing(svctest.Ctx(t), withdraw(withdrawn)); err != nil {
		t.Fatal(err)
	}
	b.intake.pieces[scrapped].State = intakev1.Piece_STATE_SCRAPPED
	var got []*salesv1.FeedItem
	r := &salesv1.ListFeedRequest{PageSize: 2}
	for pages := 0; pages == 0 || r.PageToken != ""; pages++ {
		page, err := b.ListFeed(svctest.Ctx(t), r)
		if err != nil {
			t.Fatal(err)
		}
		got, r.PageToken = append(got, page.Items...), page.NextPageToken
	}
	if len(got) != 2 || got[1].Piece != web || len(got[1].Channels) != 2 {
		t.Fatalf("ListFeed = %v, want the dresser and what is on the web too", got)
	}
	differ(t, "item", &salesv1.FeedItem{Piece: piece, Tag: 1, Title: "Pine dresser", Text: dresserText, AskingPrice: usd(300), Channels: []string{"market stall"},
		Photos: []string{"photos/3", "photos/4", "photos/1"}, NotKnown: []string{"look"}}, got[0])
	only, err := b.ListFeed(svctest.Ctx(t), &salesv1.ListFeedRequest{Channel: " WEB"})
	if err != nil || len(only.Items) != 1 || only.Items[0].Piece != web {
		t.Errorf("of the web %v, %v", only, err)
	}
	svctest.Refused(t, b.Service, b.ListFeed, &salesv1.ListFeedRequest{PageToken: "zz"}, fault.Invalid, "INVALID_PAGE_TOKEN")
	edge := salesv1.NewListingServiceClient(b.Edge)
	told, err := edge.ListFeed(b.As(t, typev1.Role_ROLE_LEAD), &salesv1.ListFeedRequest{})
	if err != nil || len(told.Items) != 2 || told.Items[0].AskingPrice == nil {
		t.Errorf("a lead is told %v, %v", told, err)
	}
	if _, err := edge.ListFeed(b.As(t, typev1.Role_ROLE_HELPER), &salesv1.ListFeedRequest{}); err == nil {
		t.Error("a helper is told the feed")
	}
}

// crowd counts who is in it, and lets the first so many wait for one another, but no longer than ctx.
type crowd struct {
	mu       sync.Mutex
	in, most int
	full     chan struct{}
}

func (c *crowd) enter(ctx context.Context, waitFor int) (leave func()) {
	c.mu.Lock()
	c.in++
	if c.in == waitFor && c.most < waitFor {
		close(c.full)
	}
	c.most = max(c.most, c.in)
	c.mu.Unlock()
	select {
	case <-c.full:
	case <-ctx.Done():
	}
	return func() {
		c.mu.Lock()
		defer c.mu.Unlock()
		c.in--
	}
}

// A page has at most a hundred listings, in the order of their tags, and eight of them are read at once.
func TestServer_ListFeed_AtOnce(t *testing.T) {
	b, photos, _ := showroom(t)
	for range 103 {
		b.list(t, b.piece())
	}
	waiting, stop := context.WithTimeout(t.Context(), 3*time.Second)
	defer stop()
	c := &crowd{full: make(chan struct{})}
	photos.crowd = func() func() { return c.enter(waiting, 8) }
	page, err := b.ListFeed(svctest.Ctx(t), &salesv1.ListFeedRequest{PageSize: 1000})
	if err != nil {
		t.Fatal(err)
	}
	if c.most != 8 {
		t.Errorf("%d were read at once, want 8", c.most)
	}
	rest, err := b.ListFeed(svctest.Ctx(t), &salesv1.ListFeedRequest{PageSize: 1000, PageToken: page.NextPageToken})
	if err != nil || len(page.Items) != 100 || len(rest.Items) != 3 || rest.NextPageToken != "" {
		t.Fatalf("pages of %d and %d, %v; want 100 and 3", len(page.Items), len(rest.GetItems()), err)
	}
	for i, item := range append(page.Items, rest.Items...) {
		if item.Tag != int32(i+1) {
			t.Fatalf("at %d there is the piece with tag %d", i, item.Tag)
		}
	}
	b.intake.goAway(true)
	svctest.Refused(t, b.Service, b.ListFeed, &salesv1.ListFeedRequest{}, fault.Unavailable, "DATABASE_UNAVAILABLE")
}
