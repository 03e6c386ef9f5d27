package server_test

import (
	"fmt"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// What may be done with a batch in each of its states; material is issued to one by materials. ok
// is a command that is done.
func TestServer_Batch_CommandsByState(t *testing.T) {
	t.Parallel()
	const ok = ""
	type given struct {
		*floor
		nell  string
		batch *workflowv1.Batch
	}
	commands := map[string]struct {
		give                      func(*testing.T, given) error
		open, finished, dissolved string
	}{
		"Form": {func(t *testing.T, g given) error {
			r := forming(g.batch.Shares[0].Stage, g.batch.Shares[1].Stage)
			r.DisplayName = "the same stages"
			_, err := g.batches().FormBatch(svctest.Ctx(t), r)
			return err
		}, "STAGE_IN_BATCH", "STAGE_FINISHED", ok},
		"FormOfThatName": {func(t *testing.T, g given) error {
			_, others := g.drawers(t, 15)
			_, err := g.batches().FormBatch(svctest.Ctx(t), forming(others["dewax left"], others["dewax right"]))
			return err
		}, "BATCH_NAME_TAKEN", ok, ok},
		"ClockOn": {func(t *testing.T, g given) error {
			_, err := g.clocks.ClockOn(svctest.Ctx(t), onBatch(g.nell, g.batch.Name, 60))
			return err
		}, ok, "BATCH_NOT_OPEN", "BATCH_NOT_OPEN"},
		"Record": {func(t *testing.T, g given) error {
			_, err := g.clocks.RecordClockEntry(svctest.Ctx(t), &workflowv1.RecordClockEntryRequest{RequestId: svctest.NewID(), Person: g.nell, Batch: g.batch.Name,
				StartTime: at(0), EndTime: at(30), Reason: "the tablet was flat"})
			return err
		}, ok, ok, ok},
		"Finish": {func(t *testing.T, g given) error {
			_, err := g.batches().FinishBatch(svctest.Ctx(t), finishingBatch(g.batch.Name, 60))
			return err
		}, ok, "BATCH_NOT_OPEN", "BATCH_NOT_OPEN"},
		"Dissolve": {func(t *testing.T, g given) error { return g.dissolve(t, g.batch.Name) }, ok, "BATCH_NOT_OPEN", "BATCH_NOT_OPEN"},
		"Leave": {func(t *testing.T, g given) error {
			_, err := g.batches().LeaveBatch(svctest.Ctx(t), leaving(g.batch.Shares[0].Stage))
			return err
		}, ok, "STAGE_NOT_IN_BATCH", "STAGE_NOT_IN_BATCH"},
	}
	for name, c := range commands {
		for state, want := range map[workflowv1.Batch_State]string{
			workflowv1.Batch_STATE_OPEN: c.open, workflowv1.Batch_STATE_FINISHED: c.finished, workflowv1.Batch_STATE_DISSOLVED: c.dissolved,
		} {
			t.Run(fmt.Sprint(name, state), func(t *testing.T) {
				f := setup(t)
				g := given{f, f.person(t, "Nell"), f.batchIn(t, state)}
				if err := c.give(t, g); want == ok && err != nil || want != ok && !fault.Is(err, want) {
					t.Errorf("%s a batch that is %v = %v, want %q", name, state, err, want)
				}
			})
		}
	}
}

// batchIn is a batch of two drawer fronts in a state.
func (f *floor) batchIn(t *testing.T, state workflowv1.Batch_State) *workflowv1.Batch {
	t.Helper()
	_, of := f.drawers(t, 11)
	b := f.formed(t, of["dewax left"], of["dewax right"])
	var err error
	switch state {
	case workflowv1.Batch_STATE_FINISHED:
		_, err = f.batches().FinishBatch(svctest.Ctx(t), finishingBatch(b.Name, 30))
	case workflowv1.Batch_STATE_DISSOLVED:
		err = f.dissolve(t, b.Name)
	}
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func (f *floor) dissolve(t *testing.T, batch string) error {
	t.Helper()
	_, err := f.batches().DissolveBatch(svctest.Ctx(t), &workflowv1.DissolveBatchRequest{RequestId: svctest.NewID(), Batch: batch})
	return err
}
