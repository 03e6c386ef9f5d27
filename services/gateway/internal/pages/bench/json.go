package bench

import (
	"encoding/json"
	"net/http"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	"tackfree/services/gateway/internal/web"
)

// longestPress is more than any press or entry comes to.
const longestPress = 32 << 10

var (
	errUnreadable = fault.New(fault.Invalid, "PRESS_UNREADABLE", "What the phone sent is not what this page sends. Open the page again.")
	errNotYours   = fault.New(fault.Denied, "NOT_YOURS", "Somebody else has signed in on this phone. What waits goes when whoever pressed it signs in.")
)

// whose is in everything that a phone sends: nothing is done in another's name, whoever is signed in now.
type whose struct {
	ID     string `json:"id"`
	Person string `json:"person"`
}

func (w whose) by(a *web.Asked) error {
	if w.Person != a.User.Person {
		return errNotYours
	}
	return nil
}

// readJSON reads what a phone sent into v.
func readJSON(w http.ResponseWriter, a *web.Asked, v any) error {
	d := json.NewDecoder(http.MaxBytesReader(w, a.Body, longestPress))
	d.DisallowUnknownFields()
	if d.Decode(v) != nil {
		return errUnreadable
	}
	return nil
}

func writeJSON(w http.ResponseWriter, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	_, _ = w.Write(b) // whoever left does not read it
	return nil
}

// instant is a time as phones send it; nil: none.
func instant(t *time.Time) *timestamppb.Timestamp {
	if t == nil {
		return nil
	}
	return timestamppb.New(*t)
}
