package bench

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// What pgbench issues, and to what. Where two services have a table of one name, it is called by
// its schema.
const (
	stockProduct = `('00000000-0000-7000-8001-' || lpad(:product::text, 12, '0'))::uuid`
	stockPiece   = `('00000000-0000-7000-9000-' || lpad(:piece::text, 12, '0'))::uuid`
	stockStage   = `('00000000-0000-7000-a000-' || lpad(:piece::text, 12, '0'))::uuid`
	stockEntry   = `lpad(:entry::text, 32, '0')::uuid`
)

// stockWant are the statements of an issue: what workflow and intake are asked, and then the
// command itself.
func stockWant(t *testing.T) []string {
	ofWorkflow := func(name, parameter string) string {
		return queryOf(t, "workflow/internal/store/queries/*.sql", name, parameter, stockPiece, "FROM piece", "FROM workflow.piece", "JOIN piece", "JOIN workflow.piece")
	}
	ofIntake := func(name string) string {
		return queryOf(t, "intake/internal/store/*.sql", name, "@id", stockPiece, "@piece_ids", "ARRAY["+stockPiece+"]", "FROM piece", "FROM intake.piece", "FROM part", "FROM intake.part")
	}
	own := func(name string, values ...string) string {
		return queryOf(t, "materials/internal/store/queries/*.sql", name, values...)
	}
	return []string{
		"BEGIN ISOLATION LEVEL REPEATABLE READ, READ ONLY",
		ofWorkflow("GetPiece", "@id"), ofWorkflow("StagesOf", "@piece_id"), ofWorkflow("OnTheClock", "@piece_id"), ofWorkflow("AwayParts", "@piece_id"), ofWorkflow("DryClocksOf", "@piece"),
		"ROLLBACK",
		ofIntake("GetPiece"), ofIntake("ListParts"),
		"BEGIN",
		own("LockProductFirst", "@id", stockProduct),
		own("MakePieces", "@ids", "ARRAY["+stockPiece+"]"),
		own("LockPiecesFirst", "@ids", "ARRAY["+stockPiece+"]"),
		own("GetShelf", "sqlc.embed(product)", "product.*", "@pieces", "ARRAY["+stockPiece+"]", "@named", "'{}'", "@id", stockProduct),
		own("UpdateProduct", "@threshold", "0", "@on_hand", ":on_hand::numeric - 0.1", "@value", ":value::bigint - 1", "@low", "false", "@version", ":version",
			"@newest_at", "now()", "@newest_rank", "2", "@newest_id", stockEntry, "@last_quantity", ":last_quantity", "@last_cost", ":last_cost", "@id", stockProduct),
		own("SaveLot", "@product_id", stockProduct, "@root_id", ":root_id", "@quantity_left", ":quantity_left::numeric - 0.1", "@quantity", ":quantity",
			"@cost_left", ":cost_left::bigint - 1", "@cost", ":cost", "@received_at", ":received_at", "@supplier", "'Mill'", "@expires_at", "NULL",
			"@opened", "false", "@closed", "false", "@place_id", "NULL", "@mix_id", "NULL", "@batch_code", "''", "@id", ":lot_id"),
		own("InsertEntry", "@product_id", stockProduct, "@piece_id", stockPiece, "@stage_id", stockStage, "@stage_kind", "'sand'", "@pass", "1", "@kind", "'went out'", "@purpose", "'issue'",
			"@at", "now()", "@quantity", "0.1", "@cost", "0", "@lot_id", "NULL", "@into_lot_id", "NULL", "@of_id", "NULL", "@expires_at", "NULL", "@opened", "false",
			"@takes", "'fresh'", "@place_id", "NULL", "@cause", "''", "@mix_id", "NULL", "@supplier", "''", "@batch_code", "''", "@reason", "''", "@actor", "'bench'",
			"@recorded_at", "now()", "@undone_at", "NULL", "@order_id", "NULL", "@order_line", "0", "@id", stockEntry),
		own("InsertMovement", "@product_id", stockProduct, "@lot_id", ":lot_id", "@entry_id", stockEntry, "@because_id", "NULL", "@quantity", "-0.1", "@cost", "-1"),
		own("UpdatePiece", "@version", "(:versions::bigint[])[1] + 1", "@id", stockPiece),
	}
}

// What pgbench runs is what the services send, word for word, with an issue's values for its
// parameters: a statement that changes there and not here would make the two incomparable.
func TestStockSQL_IsWhatTheServicesSend(t *testing.T) {
	var own []string
	for statement := range strings.SplitSeq(strings.ReplaceAll(string(stockSQL), " \\gset\n", ";\n"), ";\n") {
		for strings.HasPrefix(statement, "\\set") {
			_, statement, _ = strings.Cut(statement, "\n")
		}
		if statement != "" && statement != "COMMIT" {
			own = append(own, statement)
		}
	}
	want := stockWant(t)
	if len(own) != len(want)+2 {
		t.Fatalf("stock.sql has %d statements, an issue %d", len(own), len(want)+2)
	}
	// What is told of the piece is written before its version, and what is kept of the answer last.
	n := len(want) - 1
	insertsAs(t, own[n], "outbox/outbox.go")
	insertsAs(t, own[n+2], "once/once.go")
	if diff := cmp.Diff(want, slices.Delete(own, n, n+1)[:len(want)]); diff != "" {
		t.Errorf("stock.sql (-services +here):\n%s", diff)
	}
}
