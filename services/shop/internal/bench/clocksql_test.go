package bench

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// Whom and what pgbench clocks on.
const (
	thePerson = `('00000000-0000-7000-8000-' || lpad(:person::text, 12, '0'))::uuid`
	thePiece  = `('00000000-0000-7000-9000-' || lpad(:piece::text, 12, '0'))::uuid`
	theStage  = `('00000000-0000-7000-a000-' || lpad(:piece::text, 12, '0'))::uuid`
)

// What pgbench runs is what the service sends, word for word, with a clock-on's values for its
// parameters: a statement that changes there and not here would make the two incomparable.
func TestClockSQL_IsWhatTheServiceSends(t *testing.T) {
	var own []string
	for statement := range strings.SplitSeq(string(clockSQL), ";\n") {
		if _, set := strings.CutPrefix(statement, "\\set"); !set && statement != "" && statement != "COMMIT" {
			own = append(own, statement)
		}
	}
	want := []string{
		query(t, "LockPerson", "@id", thePerson),
		query(t, "LockPiece", "@id", thePiece),
		query(t, "ClockOnFacts", "@started::timestamptz", "now()", "@stage::uuid", theStage, "@person::uuid", thePerson, "sqlc.narg(ended)", "NULL"),
		query(t, "InsertEntry", "@id", "gen_random_uuid()", "@person_id", thePerson, "@piece_id", thePiece, "@stage_id", theStage, "@pass", "1",
			"@started_at", "now()", "@ended_at", "NULL", "@corrects", "NULL", "@superseded", "false", "@actor", "'bench'", "@reason", "''", "@indirect", "''",
			"@batch_id", "NULL", "@stretch_id", "NULL", "@stretch_from", "NULL", "@stretch_to", "NULL", "@held", "false", "@station_id", "NULL",
			"@paused", "false", "@device", "''", "@skew_ms", "0"),
		query(t, "SaveAcknowledgement", "@stage_id", theStage, "@pass", "1", "@person_id", thePerson, "@cautions", "'{dust}'", "@said_at", "now()"),
		query(t, "UpdatePiece", "@scrapped", "false", "@planned", "true", "@version", "version + 1", "@id", thePiece),
	}
	if diff := cmp.Diff(want, own[:min(len(want), len(own))]); diff != "" {
		t.Errorf("clock.sql (-service +here):\n%s", diff)
	}
	for i, source := range []string{"outbox/outbox.go", "once/once.go"} {
		insertsAs(t, own[len(want)+i], source)
	}
	if len(own) != len(want)+2 {
		t.Errorf("clock.sql has %d statements, a clock-on %d", len(own), len(want)+2)
	}
}

// insertsAs compares an insert with that of package source, of which the values differ, but not
// the columns.
func insertsAs(t *testing.T, statement, source string) {
	t.Helper()
	insert, _, columns := strings.Cut(statement, "_at)") // after the last column
	insert += "_at)"
	text := strings.Join(strings.Fields(file(t, "../../../../pkg", source)), " ")
	if !columns || !strings.Contains(text, insert) {
		t.Errorf("pkg/%s does not say %q", source, insert)
	}
}

// query reads a query of the workflow service on one line, with values for its parameters.
func query(t *testing.T, name string, values ...string) string {
	t.Helper()
	return queryOf(t, "workflow/internal/store/queries/*.sql", name, values...)
}

// queryOf is query for the files of any service.
func queryOf(t *testing.T, pattern, name string, values ...string) string {
	t.Helper()
	files, err := filepath.Glob("../../../" + pattern)
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range files {
		_, after, found := strings.Cut(file(t, "", path), "-- name: "+name+" :")
		if !found {
			continue
		}
		_, text, _ := strings.Cut(after, "\n")
		text, _, _ = strings.Cut(text, ";")
		return strings.NewReplacer(values...).Replace(strings.Join(strings.Fields(text), " "))
	}
	t.Fatalf("no query %s in %s", name, pattern)
	return ""
}

func file(t *testing.T, folder, path string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(folder, path))
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// A line of pgbench's log is its client, its transaction, the microseconds, the script and when.
func TestTookOf(t *testing.T) {
	if got, err := tookOf("0 199 2241 0 1175850568 995598\n"); err != nil || got != 2241*time.Microsecond {
		t.Errorf("tookOf = %v, %v, want 2.241ms", got, err)
	}
	for _, line := range []string{"", "0 199", "0 199 skipped 0 1175850568 995598"} {
		if got, err := tookOf(line); err == nil {
			t.Errorf("tookOf(%q) = %v, want an error", line, got)
		}
	}
}
