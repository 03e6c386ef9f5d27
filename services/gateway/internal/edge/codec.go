package edge

import (
	"encoding/json"
	"io"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	spb "google.golang.org/genproto/googleapis/rpc/status"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
)

// codec is how messages are written: as protojson has it, with empty texts and lists and zeros. A message
// that is absent is left out.
type codec struct{}

var written = runtime.JSONPb{MarshalOptions: protojson.MarshalOptions{EmitDefaultValues: true}}

// ContentType implements runtime.Marshaler.
func (codec) ContentType(any) string { return "application/json" }

// StreamContentType is that of a stream, where each line is a message.
func (codec) StreamContentType(any) string { return "application/x-ndjson" }

// Marshal implements runtime.Marshaler. A stream's last line, if it is an error, comes as a status
// whose words are the answer.
func (codec) Marshal(v any) ([]byte, error) {
	if last, is := v.(map[string]proto.Message); is {
		if s, is := last["error"].(*spb.Status); is {
			return json.Marshal(map[string]json.RawMessage{"error": json.RawMessage(s.Message)})
		}
	}
	return written.Marshal(v)
}

// Unmarshal implements runtime.Marshaler.
func (codec) Unmarshal(data []byte, v any) error { return written.Unmarshal(data, v) }

// NewDecoder implements runtime.Marshaler; the mux reads nothing but what admit gave it.
func (codec) NewDecoder(r io.Reader) runtime.Decoder {
	return decoder{from: r.(*body), json: json.NewDecoder(r)}
}

// NewEncoder implements runtime.Marshaler.
func (codec) NewEncoder(w io.Writer) runtime.Encoder { return written.NewEncoder(w) }
