package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
)

// output is how a client command prints.
type output struct {
	JSON bool `help:"Print the whole answer as JSON." name:"json"`
}

// print writes the message as JSON, or lets text write it for people.
func (o output) print(e *env, m proto.Message, text func() error) error {
	if !o.JSON {
		return text()
	}
	b, err := rawJSON(m)
	if err != nil {
		return err
	}
	return writeJSON(e.out, b)
}

// rawJSON is a message as JSON, with the fields that are empty.
func rawJSON(m proto.Message) (json.RawMessage, error) {
	return protojson.MarshalOptions{EmitUnpopulated: true}.Marshal(m)
}

// rawJSONs is a list of messages as JSON; none is an empty list.
func rawJSONs[M proto.Message](messages []M) ([]json.RawMessage, error) {
	all := make([]json.RawMessage, 0, len(messages))
	for _, m := range messages {
		b, err := rawJSON(m)
		if err != nil {
			return nil, err
		}
		all = append(all, b)
	}
	return all, nil
}

// writeJSON writes JSON indented, which protojson by itself does differently each time.
func writeJSON(w io.Writer, b json.RawMessage) error {
	var pretty bytes.Buffer
	if err := json.Indent(&pretty, b, "", "  "); err != nil {
		return err
	}
	_, err := fmt.Fprintln(w, pretty.String())
	return err
}
