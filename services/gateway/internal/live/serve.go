package live

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"tackfree/services/gateway/internal/web"
)

// beat is how often a browser hears that the line is up; check is how often it is asked whether it may
// still know.
const (
	beat  = 20 * time.Second
	check = time.Minute
)

// Serve tells a browser what changes until it leaves, its access ends, or the gateway stops.
func (h *Hub) Serve(w http.ResponseWriter, a *web.Asked) error { return h.serveAs(w, a, a.Secret()) }

func (h *Hub) serveAs(w http.ResponseWriter, a *web.Asked, secret string) error {
	ctx := a.Context()
	b := &browser{role: a.User.Role, secret: secret, wake: make(chan struct{}, 1), due: map[string]bool{}, left: ctx.Done()}
	out := http.NewResponseController(w)
	_ = out.SetWriteDeadline(time.Time{})
	w.Header().Set("Content-Type", "text/event-stream")
	w.WriteHeader(http.StatusOK)
	h.add(b) // before it hears that it is connected: from then on it misses nothing
	defer h.remove(b)
	if !send(w, out, "retry: 1000\n\n") {
		return nil
	}
	h.serve(ctx, b, w, out)
	return nil
}

func (h *Hub) serve(ctx context.Context, b *browser, w http.ResponseWriter, out *http.ResponseController) {
	beats, checks := time.NewTicker(beat), time.NewTicker(check)
	defer beats.Stop()
	defer checks.Stop()
	for {
		text := ": still here\n\n"
		select {
		case <-ctx.Done():
			return
		case <-h.stopped:
			return
		case <-checks.C:
			if _, may := h.Borrow(ctx, b.secret); !may {
				return
			}
		case <-beats.C:
		case <-b.wake:
			text = ""
			for name := range b.take() {
				text += fmt.Sprintf("event: %s\ndata: {}\n\n", name)
			}
		}
		if !send(w, out, text) {
			return
		}
	}
}

// send writes to a browser that must take it within some seconds: a broken line holds nobody.
func send(w http.ResponseWriter, out *http.ResponseController, text string) bool {
	_ = out.SetWriteDeadline(time.Now().Add(10 * time.Second))
	if _, err := w.Write([]byte(text)); err != nil {
		return false
	}
	return out.Flush() == nil
}
