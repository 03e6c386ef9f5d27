package server

import (
	"context"
	"log/slog"
	"time"

	"tackfree/pkg/pg"
	"tackfree/services/intake/internal/store"
)

const (
	// unwanted is how long no photo must have shown a picture before its file goes: longer than anybody
	// takes to send one, or to look at one that is removed at that moment.
	unwanted = 24 * time.Hour
	// sweeping is how often that is looked at.
	sweeping = time.Hour
)

// KeepSwept sweeps until ctx ends.
func (s *Server) KeepSwept(ctx context.Context, logger *slog.Logger) {
	ticker := time.NewTicker(sweeping)
	defer ticker.Stop()
	for ctx.Err() == nil {
		if err := s.SweepPhotos(ctx); err != nil && ctx.Err() == nil {
			logger.WarnContext(ctx, "sweep of pictures that no photo shows", "error", err)
		}
		select {
		case <-ctx.Done():
		case <-ticker.C:
		}
	}
}

// SweepPhotos removes the files of pictures that no photo has shown for a day: of photos that were
// removed, and of some that were sent and never came to be; and what came of files that nobody went on
// with. Faults: PHOTOS_UNREACHABLE.
func (s *Server) SweepPhotos(ctx context.Context) error {
	if s.Darkroom.Album.Kept() != nil {
		return nil
	}
	for more := true; more; {
		err := s.DB.InTx(ctx, func(ctx context.Context, tx *pg.Tx) (err error) {
			more, err = s.sweepOne(ctx, store.New(tx))
			return err
		})
		if err != nil {
			return err
		}
	}
	return s.Darkroom.Album.SweepParts(ctx, s.Shop.Now().Add(-unwanted))
}

// sweepOne removes the file of one picture while its row is locked: whoever sends the same picture at
// that moment waits, and then writes it anew.
func (s *Server) sweepOne(ctx context.Context, st store.Store) (more bool, err error) {
	now := s.Shop.Now()
	sha256, err := st.LockUnusedFile(ctx, now.Add(-unwanted))
	if err != nil || sha256 == "" {
		return false, err
	}
	if err := s.Darkroom.Album.Remove(ctx, sha256); err != nil {
		return false, err
	}
	return true, st.SweptFile(ctx, sha256, now)
}
