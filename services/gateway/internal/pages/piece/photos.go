package piece

import (
	"context"
	"strings"

	"tackfree/pkg/clients"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/bands"
	"tackfree/services/gateway/internal/pages/photos"
	"tackfree/services/gateway/internal/web"
)

// photoBand is the pictures of a piece, and the form for another.
type photoBand struct {
	Missing bands.Missing
	Path    string
	Photos  []*intakev1.Photo
	Moments []string
	Parts   []*intakev1.Part
}

// MomentOf is what a photo shows, as its form sends it.
func (photoBand) MomentOf(p *intakev1.Photo) string {
	return strings.ToLower(strings.TrimPrefix(p.Moment.String(), "MOMENT_"))
}

// Photos are kept where the shop gives them a place; one without simply shows none.
func loadPhotos(a *web.Asked, p *intakev1.Piece) (it photoBand, err error) {
	it = photoBand{Path: pathOf(p), Moments: photos.Moments, Parts: p.Parts}
	it.Photos, err = clients.All(a.Context(), func(ctx context.Context, token string) ([]*intakev1.Photo, string, error) {
		r, err := a.Kit.Suite.Photos.ListPhotos(ctx, &intakev1.ListPhotosRequest{Piece: p.Name, PageSize: 1000, PageToken: token})
		return r.GetPhotos(), r.GetNextPageToken(), err
	})
	return it, it.Missing.Of(err)
}
