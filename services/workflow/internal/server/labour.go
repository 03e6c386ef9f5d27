package server

import (
	"context"

	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/store"
	"tackfree/services/workflow/internal/workflow"
)

// learnLabour keeps what a stage took that was finished. Rework says nothing of how long the
// stage takes.
func learnLabour(ctx context.Context, st store.Store, stage workflow.Stage) error {
	if stage.Pass() > 1 {
		return nil
	}
	return learn(ctx, st, stage)
}

// relearnLabour learns anew of a stage of which an entry was written down or corrected, if
// it was learned of before; of none there is nothing to learn.
func relearnLabour(ctx context.Context, st store.Store, piece, stageID id.ID) error {
	if stageID == id.Nil {
		return nil
	}
	_, learned, err := st.Learned(ctx, stageID)
	if err != nil || !learned {
		return err
	}
	stage, err := st.Stage(ctx, piece, stageID)
	if err != nil {
		return err
	}
	return learn(ctx, st, stage)
}

func learn(ctx context.Context, st store.Store, stage workflow.Stage) error {
	work, err := st.FirstPassWork(ctx, stage.ID)
	if err != nil {
		return err
	}
	return st.Learn(ctx, stage.ID, stage.Took(work))
}
