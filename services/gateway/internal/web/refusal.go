package web

import "tackfree/pkg/fault"

// Refusal reports whether an error is an answer to whoever typed something: they see their form again.
// That a service is away or broken, or that they may not, is no such answer.
func Refusal(err error) bool {
	f := fault.Of(err)
	return f != nil && f.Kind != fault.Unavailable && f.Kind != fault.Internal && f.Kind != fault.Unauthenticated && f.Kind != fault.Denied
}
