//go:build !linux

package pgtest

import "errors"

// inMemory: only Linux has such a folder on every machine.
func inMemory() (string, error) { return "", errors.ErrUnsupported }
