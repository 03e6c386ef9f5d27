package e2e_test

import (
	"context"
	"log/slog"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	"tackfree/pkg/pgtest"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/suite"
)

// counter is somebody who offers pieces in a shop.
type counter struct {
	t    *testing.T
	ctx  context.Context
	shop *client.Shop
}

func (c counter) ok(err error) {
	c.t.Helper()
	if err != nil {
		c.t.Fatal(err)
	}
}

// lists takes a piece in and offers it for 300 at the fair, which keeps a tenth.
func (c counter) lists(title string) string {
	c.t.Helper()
	_, err := c.shop.Channels.SetChannel(c.ctx, &salesv1.SetChannelRequest{RequestId: id.New().String(), DisplayName: "Fair", Kind: "weekly market",
		Fees: &salesv1.FeeSchedule{Percent: "10", Base: salesv1.FeeSchedule_BASE_WITHOUT_TAX}})
	c.ok(err)
	r, err := c.shop.Intake.TakeInPiece(c.ctx, &intakev1.TakeInPieceRequest{RequestId: id.New().String(), Title: title, Kind: "dresser", Parts: []*intakev1.Part{{Label: "case"}},
		Origin: &intakev1.TakeInPieceRequest_Purchase{Purchase: &intakev1.Purchase{Price: dollars(40), Source: "a barn sale"}}})
	c.ok(err)
	c.offers(r.Piece.Name, "")
	return r.Piece.Name
}

func (c counter) offers(piece, also string) {
	c.t.Helper()
	r := &salesv1.CreateListingRequest{RequestId: id.New().String(), Piece: piece, Channel: "Fair", AskingPrice: dollars(300)}
	if also != "" {
		r.OtherChannels = []string{also}
	}
	_, err := c.shop.Sales.CreateListing(c.ctx, r)
	c.ok(err)
}

// plans plans two markdowns, tomorrow and the day after.
func (c counter) plans(piece string) {
	c.t.Helper()
	step := func(days int, asking int64) *salesv1.MarkdownPlan_Step {
		day := time.Now().AddDate(0, 0, days+1) // whatever day it is in the shop
		return &salesv1.MarkdownPlan_Step{Date: &date.Date{Year: int32(day.Year()), Month: int32(day.Month()), Day: int32(day.Day())}, AskingPrice: dollars(asking)}
	}
	_, err := c.shop.Markdowns.SetMarkdownPlan(c.ctx, &salesv1.SetMarkdownPlanRequest{RequestId: id.New().String(), Piece: piece, Steps: []*salesv1.MarkdownPlan_Step{step(1, 250), step(2, 220)}})
	c.ok(err)
}

// markedDown is a shop that was closed while two markdowns of a piece came due, and opened again; the plan of another was dropped.
func markedDown(t *testing.T) (*suite.Suite, counter, string) {
	t.Helper()
	o := suite.Options{Dir: t.TempDir(), DatabaseURL: pgtest.Empty(t), Currency: "USD", Zone: "America/Chicago", Reconcile: time.Second, Logger: slog.New(slog.DiscardHandler)}
	s, err := suite.Start(t.Context(), o)
	if err != nil {
		t.Fatal(err)
	}
	c := counter{t, caller.With(t.Context(), caller.Caller{Actor: "Odile"}), s.Shop}
	piece, other := c.lists("Pine dresser"), c.lists("Oak dresser")
	c.plans(piece)
	c.plans(other)
	_, err = c.shop.Markdowns.DropMarkdownPlan(c.ctx, &salesv1.DropMarkdownPlanRequest{RequestId: id.New().String(), Piece: other, Reason: "it sells as it is"})
	c.ok(err)
	s.Stop()
	db, err := pgx.Connect(t.Context(), o.DatabaseURL)
	c.ok(err)
	_, err = db.Exec(t.Context(), "UPDATE sales.markdown_step SET on_day = on_day - 10") // as if so many days had gone by
	c.ok(err)
	c.ok(db.Close(t.Context()))
	if s, err = suite.Start(t.Context(), o); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Stop)
	c.shop = s.Shop
	eventually(t, "marked down", func() bool { return c.asked(piece).GetUnits() == 220 })
	return s, c, piece
}

func (c counter) asked(piece string) *moneyv1.Money {
	c.t.Helper()
	r, err := c.shop.Sales.GetListing(c.ctx, &salesv1.GetListingRequest{Name: "listings" + strings.TrimPrefix(piece, "pieces")})
	c.ok(err)
	return r.Listing.AskingPrice
}

// withdraws offers a piece elsewhere too, withdraws it, and retires the channel.
func (c counter) withdraws(piece string) {
	c.t.Helper()
	_, err := c.shop.Listings.ChangeListingChannels(c.ctx, &salesv1.ChangeListingChannelsRequest{RequestId: id.New().String(), Piece: piece, Add: []string{"Window"}})
	c.ok(err)
	_, err = c.shop.Listings.WithdrawListing(c.ctx, &salesv1.WithdrawListingRequest{RequestId: id.New().String(), Piece: piece, Reason: "it goes to a show"})
	c.ok(err)
	all, err := c.shop.Channels.ListChannels(c.ctx, &salesv1.ListChannelsRequest{})
	c.ok(err)
	_, err = c.shop.Channels.RetireChannel(c.ctx, &salesv1.RetireChannelRequest{RequestId: id.New().String(), Name: all.Channels[0].Name})
	c.ok(err)
}

// A shop is closed over two days on which less was to be asked. As it opens, the piece is asked for at the last of these prices; it is in
// the feed at that, is withdrawn, is no more listed in the books, is listed again, and is sold with the fee of its channel, which
// is in the books too.
func TestListings_FromPlanToBooks(t *testing.T) {
	_, c, piece := markedDown(t)
	feed, err := c.shop.Listings.ListFeed(c.ctx, &salesv1.ListFeedRequest{Channel: "fair"})
	c.ok(err)
	if len(feed.Items) != 2 || feed.Items[0].Piece != piece || feed.Items[0].AskingPrice.GetUnits() != 220 || feed.Items[0].Text != "Kind: dresser. Parts: case." || feed.Items[1].AskingPrice.GetUnits() != 300 {
		t.Errorf("the feed is %v", feed.Items)
	}
	booked := func(state costingv1.PieceCost_State) func() bool {
		return func() bool {
			r, err := c.shop.Costing.GetPieceCost(c.ctx, &costingv1.GetPieceCostRequest{Piece: piece})
			return err == nil && r.PieceCost.State == state && (state != costingv1.PieceCost_STATE_SOLD || r.PieceCost.Sums.GetFees().GetUnits() == 20)
		}
	}
	eventually(t, "listed in the books", booked(costingv1.PieceCost_STATE_LISTED))
	c.withdraws(piece)
	eventually(t, "no more listed in the books", booked(costingv1.PieceCost_STATE_IN_HAND))
	_, err = c.shop.Channels.SetChannel(c.ctx, &salesv1.SetChannelRequest{RequestId: id.New().String(), DisplayName: "Fair",
		Fees: &salesv1.FeeSchedule{Percent: "10", Base: salesv1.FeeSchedule_BASE_WITHOUT_TAX}})
	c.ok(err)
	c.offers(piece, "Window")
	sold, err := c.shop.Sales.SellPiece(c.ctx, &salesv1.SellPieceRequest{RequestId: id.New().String(), Piece: piece, Price: dollars(200), Channel: "Fair"})
	c.ok(err)
	if !sold.Sale.FeeFromChannel || sold.Sale.Fee.GetUnits() != 20 {
		t.Errorf("the fee is %v", sold.Sale)
	}
	eventually(t, "sold with its fee in the books", booked(costingv1.PieceCost_STATE_SOLD))
}
