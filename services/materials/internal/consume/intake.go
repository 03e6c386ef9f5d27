package consume

import "tackfree/pkg/inbox"

// stopped notes that a piece was given up, of which workflow tells too when it knows the piece.
func (b *batch) stopped(e inbox.Event) error {
	p, err := b.piece(e)
	if err == nil {
		p.Stop()
	}
	return err
}
