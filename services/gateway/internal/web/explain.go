package web

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"

	"tackfree/pkg/fault"
)

// statuses are what a fault's kind is in HTTP.
var statuses = map[fault.Kind]int{
	fault.Invalid: http.StatusBadRequest, fault.NotFound: http.StatusNotFound, fault.Exists: http.StatusConflict,
	fault.Precondition: http.StatusUnprocessableEntity, fault.Conflict: http.StatusConflict, fault.Exhausted: http.StatusTooManyRequests,
	fault.Unavailable: http.StatusServiceUnavailable, fault.Internal: http.StatusInternalServerError,
	fault.Unauthenticated: http.StatusUnauthorized, fault.Denied: http.StatusForbidden,
}

// StatusOf gives the status of an error.
func StatusOf(err error) int {
	if f := fault.Of(err); f != nil {
		if f.Reason == errLongForm.Reason {
			return http.StatusRequestEntityTooLarge
		}
		return statuses[f.Kind]
	}
	return http.StatusInternalServerError
}

// Sentence says an error to whoever asked: in their language where the catalogue has it, and else as
// the service said it, which is for programs too; of what pages say otherwise the catalogue has English.
func (a *Asked) Sentence(err error) string {
	f := fault.Of(err)
	if f == nil || f.Kind == fault.Internal {
		return a.Voice.T("fault.internal")
	}
	if text, said := a.Voice.Wrong(f); said {
		return text
	}
	if key := "fault." + f.Reason; a.Voice.Has(key) {
		return a.Voice.T(key)
	}
	return f.Text
}

// wrong is what a page that explains a fault shows.
type wrong struct {
	Status int
	Text   string
	Reason string
}

// explain answers with a page, or for scripts with JSON, that says what went wrong and what to do.
func (k *Kit) explain(w http.ResponseWriter, a *Asked, err error) {
	if a.Context().Err() != nil && errors.Is(err, context.Canceled) {
		return // whoever asked has left
	}
	it := wrong{StatusOf(err), a.Sentence(err), fault.Reason(err)}
	if it.Status >= http.StatusInternalServerError {
		k.Logger.ErrorContext(a.Context(), "page", "method", a.Method, "path", a.URL.Path, "error", err)
	}
	if a.Header.Get(FormHeader) != "" || a.Header.Get("Sec-Fetch-Dest") == "empty" {
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(it.Status)
		_ = json.NewEncoder(w).Encode(map[string]any{"error": map[string]any{"reason": it.Reason, "message": it.Text}})
		return
	}
	if err := k.write(w, it.Status, "wrong", "page", a.View(a.Voice.T("wrong.title"), it)); err != nil {
		k.Logger.ErrorContext(a.Context(), "page of a fault", "error", err)
		http.Error(w, it.Text, it.Status)
	}
}
