package client

import (
	"context"
	"fmt"

	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// AllPhotos lists all photos that a request asks for, whatever the size of its pages.
func (s *Shop) AllPhotos(ctx context.Context, r *intakev1.ListPhotosRequest) ([]*intakev1.Photo, error) {
	return All(ctx, func(ctx context.Context, token string) ([]*intakev1.Photo, string, error) {
		r.PageSize, r.PageToken = page, token
		answer, err := s.Photos.ListPhotos(ctx, r)
		return answer.GetPhotos(), answer.GetNextPageToken(), err
	})
}

// Photo finds a photo by its piece's tag number and its own, also one that was removed.
func (s *Shop) Photo(ctx context.Context, piece string, number int32) (*intakev1.Photo, error) {
	p, err := s.Piece(ctx, piece)
	if err != nil {
		return nil, err
	}
	photos, err := s.AllPhotos(ctx, &intakev1.ListPhotosRequest{Piece: p.Name, ShowRemoved: true})
	if err != nil {
		return nil, err
	}
	for _, photo := range photos {
		if photo.Number == number {
			return photo, nil
		}
	}
	return nil, fmt.Errorf("piece %d has no photo %d; `shop photo list %d` lists them", p.Tag, number, p.Tag)
}
