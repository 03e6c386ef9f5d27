package server

import (
	"context"
	"slices"

	"golang.org/x/sync/errgroup"
	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	"tackfree/pkg/wire"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	"tackfree/services/sales/internal/sales"
	"tackfree/services/sales/internal/store"
)

// Photos is what sales asks of intake about photos.
type Photos interface {
	ListPhotos(context.Context, *intakev1.ListPhotosRequest, ...grpc.CallOption) (*intakev1.ListPhotosResponse, error)
}

const (
	feedAtMost = 100 // listings on a page of the feed: each takes four reads
	feedAtOnce = 8   // of them that are read at once
)

// ListFeed implements ListingService. A page is of so many listings; fewer are on it where some are on other channels.
func (s *Server) ListFeed(ctx context.Context, r *salesv1.ListFeedRequest) (*salesv1.ListFeedResponse, error) {
	var from after
	if err := page.Read(r.PageToken, &from); err != nil {
		return nil, err
	}
	size := min(page.Size(r.PageSize), feedAtMost)
	var offered []sales.Listing
	err := s.DB.View(ctx, func(q pg.Querier) (err error) {
		offered, err = store.New(q).ListOffered(ctx, from.Tag, from.Piece, size)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &salesv1.ListFeedResponse{NextPageToken: page.Next(offered, size, func(l sales.Listing) any { return after{l.Tag, l.Piece} })}
	if r.Channel != "" {
		offered = slices.DeleteFunc(offered, func(l sales.Listing) bool { return !standsOn(l, r.Channel) })
	}
	out.Items, err = s.feedItems(ctx, offered)
	return out, err
}

// feedItems are those of listings, in their order, some read at once.
func (s *Server) feedItems(ctx context.Context, of []sales.Listing) ([]*salesv1.FeedItem, error) {
	items := make([]*salesv1.FeedItem, len(of))
	reading, asked := errgroup.WithContext(ctx)
	reading.SetLimit(feedAtOnce)
	for i, l := range of {
		reading.Go(func() (err error) {
			items[i], err = s.feedItem(asked, l)
			return err
		})
	}
	err := reading.Wait()
	return slices.DeleteFunc(items, func(item *salesv1.FeedItem) bool { return item == nil }), err
}

func standsOn(l sales.Listing, channel string) bool {
	key := wire.NameKey(channel)
	return slices.ContainsFunc(l.Channels(), func(c string) bool { return wire.NameKey(c) == key })
}

// feedItem is a listed piece as others take it; nil of one that was scrapped, or that intake knows no more.
func (s *Server) feedItem(ctx context.Context, l sales.Listing) (*salesv1.FeedItem, error) {
	r, err := s.Intake.GetPiece(ctx, &intakev1.GetPieceRequest{Name: id.Name("pieces", l.Piece)})
	if fault.Is(err, "PIECE_NOT_FOUND") || r.GetPiece().GetState() == intakev1.Piece_STATE_SCRAPPED {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	text, err := s.text(ctx, l.Piece, r.GetPiece())
	if err != nil {
		return nil, err
	}
	photos, err := s.photosOf(ctx, r.GetPiece().GetName())
	return &salesv1.FeedItem{Piece: r.GetPiece().GetName(), Tag: l.Tag, Title: text.Title.Value, Text: oneText(text), AskingPrice: s.Shop.ToMoney(l.AskingPrice),
		Channels: l.Channels(), Photos: photos, NotKnown: text.NotKnown}, err
}

// shownFirst is the order in which photos are shown to buyers; what shows a defect is not.
var shownFirst = []intakev1.Photo_Moment{intakev1.Photo_MOMENT_AFTER, intakev1.Photo_MOMENT_BEFORE, intakev1.Photo_MOMENT_DURING, intakev1.Photo_MOMENT_UNSPECIFIED}

// photosOf names the photos of a piece.
func (s *Server) photosOf(ctx context.Context, piece string) (names []string, err error) {
	r, err := s.Photos.ListPhotos(ctx, &intakev1.ListPhotosRequest{Piece: piece, PageSize: 1000})
	for _, moment := range shownFirst {
		for _, photo := range r.GetPhotos() {
			if photo.GetMoment() == moment {
				names = append(names, photo.GetName())
			}
		}
	}
	return names, err
}
