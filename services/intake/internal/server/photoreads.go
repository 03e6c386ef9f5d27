package server

import (
	"context"
	"errors"
	"io"

	"google.golang.org/grpc"

	"tackfree/pkg/id"
	"tackfree/pkg/page"
	"tackfree/pkg/pg"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/intake/internal/album"
	"tackfree/services/intake/internal/intake"
	"tackfree/services/intake/internal/store"
)

// ListPhotos implements PhotoService.
func (s *Server) ListPhotos(ctx context.Context, r *intakev1.ListPhotosRequest) (*intakev1.ListPhotosResponse, error) {
	want := store.PhotosOf{Moment: moments[r.Moment], ShowRemoved: r.ShowRemoved, Limit: page.Size(r.PageSize)}
	var err error
	if want.Piece, err = id.One("piece", r.Piece, "pieces"); err != nil {
		return nil, err
	}
	if err := page.Read(r.PageToken, &want.After); err != nil {
		return nil, err
	}
	var photos []intake.Photo
	err = s.DB.Snapshot(ctx, func(q pg.Querier) (err error) {
		st := store.New(q)
		if _, err := st.Get(ctx, want.Piece); err != nil {
			return err
		}
		photos, err = st.ListPhotos(ctx, want)
		return err
	})
	if err != nil {
		return nil, err
	}
	out := &intakev1.ListPhotosResponse{NextPageToken: page.Next(photos, want.Limit, func(ph intake.Photo) any { return ph.Number })}
	for _, ph := range photos {
		out.Photos = append(out.Photos, s.encodePhoto(ph))
	}
	return out, nil
}

// GetPhoto implements PhotoService.
func (s *Server) GetPhoto(ctx context.Context, r *intakev1.GetPhotoRequest) (*intakev1.GetPhotoResponse, error) {
	ph, err := s.photo(ctx, r.Name)
	if err != nil {
		return nil, err
	}
	return &intakev1.GetPhotoResponse{Photo: s.encodePhoto(ph)}, nil
}

// photo reads one by the name in a request. Faults: INVALID_NAME, PHOTO_NOT_FOUND.
func (s *Server) photo(ctx context.Context, name string) (ph intake.Photo, err error) {
	photoID, err := id.One("name", name, "photos")
	if err != nil {
		return ph, err
	}
	err = s.DB.View(ctx, func(q pg.Querier) (err error) {
		ph, err = store.New(q).GetPhoto(ctx, photoID)
		return err
	})
	return ph, at(err, "PHOTO_NOT_FOUND", "name")
}

// DownloadPhoto implements PhotoService.
func (s *Server) DownloadPhoto(r *intakev1.DownloadPhotoRequest, out grpc.ServerStreamingServer[intakev1.DownloadPhotoResponse]) error {
	ph, err := s.photo(out.Context(), r.Name)
	if err != nil {
		return err
	}
	if err := ph.Shown(); err != nil {
		return err
	}
	file, err := s.Darkroom.Album.Open(out.Context(), ph.File.SHA256, sizes[r.Size])
	if err != nil {
		return err
	}
	defer func() { _ = file.Close() }()
	head := &intakev1.DownloadPhotoResponse_Header{ContentType: album.ContentType, SizeBytes: file.Size()}
	if err := out.Send(&intakev1.DownloadPhotoResponse{Part: &intakev1.DownloadPhotoResponse_Header_{Header: head}}); err != nil {
		return err
	}
	return sendFile(file, out)
}

var sizes = map[intakev1.Photo_Size]album.Size{
	intakev1.Photo_SIZE_UNSPECIFIED: album.Full, intakev1.Photo_SIZE_FULL: album.Full,
	intakev1.Photo_SIZE_MEDIUM: album.Medium, intakev1.Photo_SIZE_THUMBNAIL: album.Thumbnail,
}

func sendFile(file io.Reader, out grpc.ServerStreamingServer[intakev1.DownloadPhotoResponse]) error {
	buf := make([]byte, chunk)
	for {
		n, err := io.ReadFull(file, buf)
		if n > 0 {
			if err := out.Send(&intakev1.DownloadPhotoResponse{Part: &intakev1.DownloadPhotoResponse_Chunk{Chunk: buf[:n]}}); err != nil {
				return err
			}
		}
		switch {
		case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
			return nil
		case err != nil:
			return err
		}
	}
}
