package workflow

import "tackfree/pkg/id"

// Part is a part of a piece, of which there may be several alike.
type Part struct {
	ID    id.ID // id.Nil: a piece whose parts nobody told
	Label string
	Count int32
}
