package scenario

import (
	"encoding/json"
	"fmt"
	"io/fs"
	"strings"

	"google.golang.org/protobuf/encoding/protojson"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// ReadRoutes reads a file in the API's own JSON: one route, as of
// tackfree.workflow.v1.Route, or {"routes": […]} as `shop route list --json` prints them.
// A field that a route does not have is an error. An etag is left out: the file says what
// the route is to be, whatever it was when the file was written.
func ReadRoutes(folder fs.FS, name string) ([]*workflowv1.Route, error) {
	b, err := fs.ReadFile(folder, name)
	if err != nil {
		return nil, err
	}
	routes, err := decodeRoutes(b)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	for _, r := range routes {
		r.Etag = ""
	}
	return routes, nil
}

func decodeRoutes(b []byte) ([]*workflowv1.Route, error) {
	var several struct{ Routes json.RawMessage }
	if err := json.Unmarshal(b, &several); err == nil && several.Routes != nil {
		list := &workflowv1.ListRoutesResponse{}
		err := protojson.Unmarshal(b, list)
		return list.Routes, err
	}
	r := &workflowv1.Route{}
	if err := protojson.Unmarshal(b, r); err != nil {
		return nil, err
	}
	return []*workflowv1.Route{r}, nil
}

// Word is the word that a route goes by: routes/painted is painted.
func Word(r *workflowv1.Route) string { return strings.TrimPrefix(r.Name, "routes/") }
