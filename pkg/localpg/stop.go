package localpg

import (
	"context"
	"fmt"
)

// Stop ends the server and returns when it is gone: a fast shutdown that
// breaks off open transactions, after 15 s (or when ctx ends meanwhile) one
// without a checkpoint, after 5 s more a kill. A ctx that has already ended is
// ignored. The error says if force was needed; committed data is safe in any
// case, unless Options.Throwaway was set.
// Further calls wait for the first and return the same.
func (s *Server) Stop(ctx context.Context) error {
	s.stopOnce.Do(func() {
		if err := s.process.end(ctx, defaultPatience, s.forced); err != nil {
			s.stopErr = fmt.Errorf("stopping Postgres: %w", err)
		}
		<-s.done
	})
	return s.stopErr
}
