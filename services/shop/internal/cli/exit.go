package cli

import (
	"context"
	"errors"
	"fmt"
	"io"

	"tackfree/pkg/fault"
)

// Exit codes. Scripts go by them, so none gets another meaning.
const (
	exitDone    = 0
	exitRefused = 1
	exitTyped   = 2
	exitUnknown = 3
)

// exitCodes say what each means, for people.
var exitCodes = []struct {
	code int
	says string
}{
	{exitDone, "it is done, or here is the answer"},
	{exitRefused, "it was refused or failed, and standard error says why"},
	{exitTyped, "it was typed wrong; nothing was asked of the shop"},
	{exitUnknown, "the shop could not be reached, or was not heard out: what was read can be asked again, and of a command standard error has the line that does it once"},
}

// codeOf is the exit code of an error; unsure, where it may have been done.
func codeOf(err error, unsure bool) int {
	switch {
	case err == nil:
		return exitDone
	case errors.As(err, new(unshown)):
		return exitRefused
	case unsure, errors.Is(err, fault.Unavailable), errors.Is(err, context.DeadlineExceeded):
		return exitUnknown
	}
	return exitRefused
}

// writeExitCodes writes what the exit codes mean.
func writeExitCodes(w io.Writer) {
	fmt.Fprintln(w, "Exit codes:")
	for _, c := range exitCodes {
		fmt.Fprintf(w, "  %d  %s\n", c.code, wrapped(c.says+".", "     "))
	}
}
