package day

import (
	"context"
	"sync"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/clients"
	"tackfree/pkg/finish"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// leads remembers of which stages it is known that no test for lead is missing. Tests are added and
// never taken away, and which cautions a stage has its plan says once; so what was found out holds.
type leads struct {
	mu    sync.Mutex
	clear map[string]bool
}

// untested is a stage that may not begin because nobody tested for lead.
type untested struct {
	line    *workflowv1.BoardLine
	next    *workflowv1.BoardLine_Next
	caution string
}

// mostLooked bounds how many stages are looked at for one answer, mostClear how many are remembered.
const (
	mostLooked = 12
	mostClear  = 50_000
	leadID     = "lead"
)

// look finds stages that are ready but for a test for lead, and tells how many it did not get to.
func (l *leads) look(ctx context.Context, s *clients.Suite, board []*workflowv1.BoardLine) (found []untested, unlooked int, err error) {
	asking, unlooked := atMost(l.unclear(board), mostLooked)
	missing := make([]bool, len(asking))
	reading, ctx := errgroup.WithContext(ctx)
	reading.SetLimit(asked)
	for i := range asking {
		reading.Go(func() (err error) {
			missing[i], err = l.ask(ctx, s, &asking[i])
			return err
		})
	}
	if err := reading.Wait(); err != nil {
		return nil, 0, err
	}
	for i, u := range asking {
		if missing[i] {
			found = append(found, u)
		}
	}
	return found, unlooked, nil
}

// unclear are the stages that could begin, are of a kind that disturbs old coatings, and are not
// known to be clear.
func (l *leads) unclear(board []*workflowv1.BoardLine) (out []untested) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, line := range board {
		for _, n := range line.Next {
			if n.State == workflowv1.Stage_STATE_READY && finish.Kind(n.Kind).Disturbs() && !l.clear[n.Stage] {
				out = append(out, untested{line: line, next: n})
			}
		}
	}
	return out
}

// ask reads a stage's cautions, and if lead is among them the tests of its piece.
func (l *leads) ask(ctx context.Context, s *clients.Suite, u *untested) (missing bool, err error) {
	got, err := s.Stages.GetStage(ctx, &workflowv1.GetStageRequest{Name: u.next.Stage})
	if err != nil {
		return false, err
	}
	for _, c := range got.Stage.GetCautions() {
		if c.Id == leadID {
			u.caution = c.Text
		}
	}
	if u.caution != "" {
		tests, err := s.Tests.ListPartTests(ctx, &workflowv1.ListPartTestsRequest{Piece: u.line.Piece})
		if err != nil || !tested(tests.GetTests(), got.Stage.Part) {
			return err == nil, err
		}
	}
	l.remember(u.next.Stage)
	return false, nil
}

// tested reports whether a part, or with it the whole piece, was tested for lead.
func tested(tests []*workflowv1.PartTest, part string) bool {
	for _, t := range tests {
		if t.GetLead() != nil && (t.Part == "" || t.Part == part) {
			return true
		}
	}
	return false
}

func (l *leads) remember(stage string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.clear == nil || len(l.clear) > mostClear {
		l.clear = map[string]bool{}
	}
	l.clear[stage] = true
}
