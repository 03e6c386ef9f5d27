package edge

import (
	"encoding/json"
	"errors"
	"io"
	"mime"
	"net/http"
	"strings"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"tackfree/pkg/fault"
)

// How large a body may be: that of one message, as services take no larger one, and that of many,
// such as a photo in parts.
const (
	largest       = 1 << 20
	largestStream = 40 << 20
)

// body is what a call brings. It remembers why it could not be read: the mux makes words of that.
type body struct {
	io.ReadCloser
	many  bool              // several messages
	names map[string]string // the fields that stand in the path already
	why   error
}

// body prepares what a call brings. Faults: CONTENT_TYPE, CONTENT_ENCODING.
func (r *route) body(w http.ResponseWriter, from *http.Request, names map[string]string) (*body, error) {
	if !r.changes() {
		return &body{ReadCloser: http.NoBody}, nil
	}
	many, most := r.method.IsStreamingClient(), int64(largest)
	if many {
		most = largestStream
	}
	if err := checkType(from, many); err != nil {
		return nil, err
	}
	return &body{ReadCloser: http.MaxBytesReader(w, from.Body, most), many: many, names: names}, nil
}

func checkType(r *http.Request, many bool) error {
	if r.ContentLength == 0 && r.Header.Get("Content-Type") == "" {
		return nil
	}
	kind, with, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	charset := with["charset"]
	known := kind == "application/json" || many && kind == "application/x-ndjson"
	switch {
	case err != nil || !known || charset != "" && !strings.EqualFold(charset, "utf-8"):
		wants := "application/json"
		if many {
			wants = "application/x-ndjson, one message on each line"
		}
		return refusal{http.StatusUnsupportedMediaType, fault.New(fault.Invalid, "CONTENT_TYPE", "Send the body as Content-Type: %s.", wants)}
	case r.Header.Get("Content-Encoding") != "":
		return refusal{http.StatusUnsupportedMediaType, fault.New(fault.Invalid, "CONTENT_ENCODING", "Send the body as it is, not compressed.")}
	}
	return nil
}

func tooLarge(most int64) error {
	return refusal{http.StatusRequestEntityTooLarge, fault.New(fault.Invalid, "BODY_TOO_LARGE", "The body is larger than %d MiB, which is the most.", most>>20)}
}

// Read implements io.Reader.
func (b *body) Read(p []byte) (int, error) {
	n, err := b.ReadCloser.Read(p)
	if large, is := errors.AsType[*http.MaxBytesError](err); is {
		b.why = tooLarge(large.Limit)
	}
	return n, err
}

// decoder reads the messages of a body.
type decoder struct {
	from *body
	json *json.Decoder
}

// Decode implements runtime.Decoder: io.EOF at the end. Faults, which the body remembers: FIELD_UNKNOWN,
// FIELD_TWICE, JSON_MALFORMED, BODY_TOO_LARGE.
func (d decoder) Decode(v any) error {
	var text json.RawMessage
	err := d.json.Decode(&text)
	if errors.Is(err, io.EOF) {
		return err
	}
	m := v.(proto.Message)
	if err == nil {
		err = protojson.Unmarshal(text, m)
	}
	if err == nil {
		err = d.alone()
	}
	if err != nil {
		err = malformed(err, m.ProtoReflect().Descriptor())
	} else {
		err = d.from.agrees(m.ProtoReflect())
	}
	if err != nil && d.from.why == nil {
		d.from.why = err
	}
	return err
}

// alone refuses what follows a message that should be the only one.
func (d decoder) alone() error {
	if d.from.many {
		return nil
	}
	if _, err := d.json.Token(); !errors.Is(err, io.EOF) {
		return errors.New("something follows the message")
	}
	return nil
}

// agrees refuses a message that says otherwise than the path, which would count. Fault: FIELD_TWICE.
func (b *body) agrees(m protoreflect.Message) error {
	for path, name := range b.names {
		if said := textAt(m, path); said != "" && said != name {
			return fault.New(fault.Invalid, "FIELD_TWICE", "%s is %q in the body, but %q in the path. Leave it out of the body.",
				inJSON(path), said, name).At(path)
		}
	}
	return nil
}

func textAt(m protoreflect.Message, path string) string {
	way := fieldAt(m.Descriptor(), path)
	for _, f := range way[:len(way)-1] {
		m = m.Get(f).Message()
	}
	return m.Get(way[len(way)-1]).String()
}
