// Package store keeps people, routes, stages and clock entries in Postgres. Row types
// never leave it.
//
// Commands lock in one order, a person before pieces, pieces by id, then a batch, then
// stations by id, so that no two wait for each other in a circle; a lock is taken in the
// same round trip as the read that follows it, which therefore sees the newest rows.
package store

import (
	"embed"

	"tackfree/pkg/fault"
	"tackfree/pkg/pg"
	"tackfree/services/workflow/internal/store/storedb"
)

// Migrations are the service's own tables.
//
//go:embed migrations/*.sql
var Migrations embed.FS

// Constraints are the faults behind the constraints of the tables.
var Constraints = pg.Constraints{
	"person_name_once": fault.New(fault.Exists, "PERSON_NAME_TAKEN",
		"Somebody of that name is in the shop already; add an initial to tell them apart.").At("display_name"),
	"batch_open_name_once": fault.New(fault.Exists, "BATCH_NAME_TAKEN",
		"An open batch has that name already; give another one, or finish or dissolve that one first.").At("display_name"),
	"route_word_once": fault.New(fault.Conflict, "CONTENTION",
		"Somebody saved a route of that name at the same moment; look at it and save again."),
	"zone_word_once": fault.New(fault.Conflict, "CONTENTION",
		"Somebody saved a zone of that name at the same moment; look at it and save again."),
	"clock_one_pair_of_hands": fault.New(fault.Precondition, "CLOCK_OVERLAP",
		"These times overlap another entry of the same person; look at their entries and correct the one that is wrong."),
	"clock_corrected_once": fault.New(fault.Precondition, "CLOCK_SUPERSEDED",
		"This entry was corrected at the same moment; correct the one that replaced it."),
	"station_word_once": fault.New(fault.Conflict, "CONTENTION",
		"Somebody saved a station of that name at the same moment; look at it and save again."),
	"station_holds_no_more": fault.New(fault.Precondition, "STATION_FULL",
		"The station would hold more than it has room for; look at what stands there, and carry something away first."),
	"token_label_once": fault.New(fault.Exists, "TOKEN_LABEL_TAKEN",
		"A program of that label is let in already; give this one another, or revoke that one first.").At("label"),
	"swap_open_once": fault.New(fault.Precondition, "SWAP_OPEN",
		"This stage is offered to somebody already. Withdraw that offer first, or wait for the answer.").At("stage"),
	"comeback_open_once": fault.New(fault.Precondition, "COMEBACK_OPEN",
		"That the piece is back was noted at the same moment; look at what is noted, and mend this with it."),
	"placement_one_place": fault.New(fault.Precondition, "MOVE_BEFORE_LAST",
		"A part would be in two places at once; look at where it stands and since when, and check the time."),
}

// Store reads and writes in one transaction, or reads outside one.
type Store struct{ q *storedb.Queries }

// New makes a store over a transaction or a view.
func New(q pg.Querier) Store { return Store{storedb.New(q)} }
