package grpcx

import (
	"context"
	"errors"

	"tackfree/pkg/fault"
)

// Unsure is the error of a command that may have been done although it failed: its answer
// was lost, or what failed is a later try than the one that did it. Given again with the
// same request_id, by the same caller, it is done once and answers as it did.
type Unsure struct{ error }

// Unwrap gives the failure.
func (u Unsure) Unwrap() error { return u.error }

// unsure marks the failures of a command after which nobody knows whether it was done.
func unsure(req any, err error) error {
	_, command := req.(interface{ GetRequestId() string })
	if command && (errors.Is(err, fault.Unavailable) || errors.Is(err, context.DeadlineExceeded) || errors.Is(err, context.Canceled)) {
		return Unsure{err}
	}
	return err
}
