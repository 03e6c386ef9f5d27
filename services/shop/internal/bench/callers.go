package bench

import (
	"iter"
	"sync"
	"sync/atomic"
	"time"

	"google.golang.org/grpc"

	"tackfree/pkg/grpcx"
)

// byCallers lets callers ask one service side by side, each over a connection of its own and
// whenever it is due, and counts the answers. The first fault ends the caller that got it.
func byCallers(address string, callers int, due func(caller int) iter.Seq[time.Time], ask func(conn *grpc.ClientConn, due time.Time) error) (int64, error) {
	var done atomic.Int64
	failed := make(chan error, callers)
	var all sync.WaitGroup
	for caller := range callers {
		conn, err := grpcx.Dial(address)
		if err != nil {
			return 0, err
		}
		defer func() { _ = conn.Close() }()
		all.Go(func() {
			for at := range due(caller) {
				if err := ask(conn, at); err != nil {
					failed <- err
					return
				}
				done.Add(1)
			}
		})
	}
	all.Wait()
	return done.Load(), first(failed)
}

// first is the first of the faults that came in, or nil.
func first(failed <-chan error) error {
	select {
	case err := <-failed:
		return err
	default:
		return nil
	}
}
