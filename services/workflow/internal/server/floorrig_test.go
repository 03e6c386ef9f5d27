package server_test

import (
	"fmt"
	"strings"
	"testing"

	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

func (f *floor) view() workflowv1.FloorServiceClient { return workflowv1.NewFloorServiceClient(f.Conn) }

// board reads the board in pages of a size, 0 for one.
func (f *floor) board(t testing.TB, r *workflowv1.ListBoardRequest) (lines []*workflowv1.BoardLine) {
	t.Helper()
	for {
		resp, err := f.view().ListBoard(svctest.Ctx(t), r)
		if err != nil {
			t.Fatal(err)
		}
		lines = append(lines, resp.Lines...)
		if r.PageToken = resp.NextPageToken; r.PageToken == "" {
			return lines
		}
	}
}

// tagged are the tags of pieces on the board, each with its state.
func tagged(lines []*workflowv1.BoardLine) string {
	var out []string
	for _, l := range lines {
		out = append(out, strings.ToLower(strings.TrimPrefix(l.State.String(), "STATE_"))+fmt.Sprint(" ", l.PieceTag))
	}
	return strings.Join(out, ", ")
}
