package cli

import (
	"context"
	"fmt"
	"io"
	"log/slog"
)

// hush keeps a log quiet once the end has been asked for: what fails then fails because it
// is being stopped.
type hush struct {
	slog.Handler
	over context.Context
}

// Enabled implements slog.Handler.
func (h hush) Enabled(ctx context.Context, level slog.Level) bool {
	return h.over.Err() == nil && h.Handler.Enabled(ctx, level)
}

// WithAttrs implements slog.Handler.
func (h hush) WithAttrs(attrs []slog.Attr) slog.Handler {
	return hush{h.Handler.WithAttrs(attrs), h.over}
}

// WithGroup implements slog.Handler.
func (h hush) WithGroup(name string) slog.Handler { return hush{h.Handler.WithGroup(name), h.over} }

// say writes lines for people, until the end is asked for.
func (e *env) say(w io.Writer) func(string) {
	return func(line string) {
		if e.ctx.Err() == nil {
			fmt.Fprintln(w, line)
		}
	}
}
