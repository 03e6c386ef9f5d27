package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"

	"github.com/alecthomas/kong"

	"tackfree/pkg/fault"
	"tackfree/pkg/grpcx"
)

// again is what a line must say beside the words that were typed, so that it means the
// same when it is given again.
type again struct{ flags, words []string }

// changing is a command that changes something, and so can be given again safely.
type changing interface{ again() again }

// doubt reports a command that may have been done although it failed, and the line that
// finds out and is safe.
func doubt(k *kong.Context, args []string, err error) (line string, unsure bool) {
	if !errors.As(err, new(grpcx.Unsure)) {
		return "", false
	}
	c, ok := k.Selected().Target.Addr().Interface().(changing)
	if !ok {
		return "", false
	}
	return c.again().line(args), true
}

// line writes the whole line for a shell. Flags go before a --, behind which are words.
func (a again) line(args []string) string {
	end := slices.Index(args, "--")
	if end < 0 {
		end = len(args)
	}
	line := []string{"shop"}
	for _, word := range slices.Concat(args[:end], a.flags, args[end:], a.words) {
		line = append(line, quoted(word))
	}
	return strings.Join(line, " ")
}

var plain = regexp.MustCompile(`^[A-Za-z0-9_./:=@%+,-]+$`)

// quoted writes a word so that a shell leaves it alone.
func quoted(word string) string {
	if plain.MatchString(word) {
		return word
	}
	return "'" + strings.ReplaceAll(word, "'", `'\''`) + "'"
}

// explainDoubt says what is known, which is why nothing is, and what to type.
func explainDoubt(w io.Writer, err error, line string) {
	fmt.Fprintf(w, "shop: %s, so this may have been done and may not.\n"+
		"To find out, and to have it done once whatever happened, type it again like this:\n    %s\n"+
		"If it was done, that answers as it would have and does nothing more; it holds for seven days, for the same person.\n", why(err), line)
}

// why is what went wrong, without what to do about it.
func why(err error) string {
	f := fault.Of(err)
	switch {
	case f != nil:
		what, _, _ := strings.Cut(strings.ReplaceAll(f.Text, ";", "."), ".")
		return fmt.Sprintf("%s (%s)", what, f.Reason)
	case errors.Is(err, context.Canceled):
		return "it was stopped before the answer came"
	}
	return "the shop did not answer in time"
}
