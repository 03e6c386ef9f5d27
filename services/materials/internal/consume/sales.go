package consume

import (
	"time"

	"tackfree/pkg/inbox"
)

// sold notes that a piece was sold. What was planned until somebody wrote that down is not done any
// more, whenever the sale was.
func (b *batch) sold(e inbox.Event) error {
	p, err := b.piece(e)
	if err == nil {
		p.Sell(e.RecordedAt.AsTime().Truncate(time.Microsecond))
	}
	return err
}
