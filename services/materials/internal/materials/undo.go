package materials

import (
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Undo makes the entry by which another counts as if it had never been: it was a slip. Faults:
// ENTRY_IS_AN_ISSUE, ENTRY_OF_A_MIX, ENTRY_UNDOES.
func (old Entry) Undo(e Entry) (Entry, error) {
	switch {
	case old.Kind == Undone:
		return e, fault.New(fault.Precondition, "ENTRY_UNDOES", "That undid another entry; write what was undone down again.").At("entry")
	case old.Purpose == ForIssue:
		return e, fault.New(fault.Precondition, "ENTRY_IS_AN_ISSUE", "That is an issue; take it back as such, with all that came back of it.").At("entry")
	case old.Mix != id.Nil && old.Purpose == ForMixing:
		return e, fault.New(fault.Precondition, "ENTRY_OF_A_MIX", "That belongs to a mix; undo the whole mix.").At("entry").With("mix", old.Mix.String())
	}
	return old.undo(e), nil
}

func (old Entry) undo(e Entry) Entry {
	e.Kind, e.Purpose, e.Of, e.To, e.Cause, e.Quantity = Undone, ForUndo, old.ID, old.To, old.Cause, old.Quantity
	e.At, e.UndoneAt, e.Undoes = old.At, e.At, old.Purpose
	return e
}

// Undo makes the entries by which what went into a mix and came of it count as if they had never
// been.
func (m Mix) Undo(old, e Entry) Entry {
	e = old.undo(e)
	e.Mix = m.ID
	return e
}
