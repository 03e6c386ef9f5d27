package books

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"tackfree/pkg/pg"
)

// table is a table that is computed from events. A rebuild recomputes it, and a verification compares
// all columns of all its rows, but for what is named here.
type table struct {
	name  string
	where string   // which rows are compared one by one; empty: all
	story []string // columns that tell how the live rows came to be
	drawn []string // columns whose numbers the live table draws by itself: no other row's is put in place
	// unread are indexes by which nobody who books looks anything up, of a table that has very many
	// rows: the shadow does without them.
	unread []string
	// late are indexes that nobody needs before the replay is over, and that are made faster then.
	late []string

	// As the database says.
	columns, key, indexes, lateIndexes []string
}

const posting = "posting"

// tables are what a rebuild recomputes. Costing's own records are kept.
var tables = []table{
	{name: posting, where: "group_kind = ''", unread: []string{"posting_pkey", "posting_by_time", "posting_done_again", "posting_by_position"},
		// In which order the live books took things in is for their journal alone.
		drawn: []string{"position"}, late: []string{"posting_of_piece"}},
	{name: "stretch", unread: []string{"stretch_pkey"}, late: []string{"stretch_of_person", "stretch_of_piece"}},
	{name: "clock"}, {name: "outside_work"}, {name: "review"}, {name: "tangled_week"}, {name: "mark"}, {name: "stage"}, {name: "sent_back"}, {name: "inspection"}, {name: "comeback"}, {name: "comeback_stage"},
	{name: "lot_terms"}, {name: "lot_share"}, {name: "correction"}, {name: "person"},
	// How often a sheet changed, and when last, is the story of the live books alone.
	{name: "piece", story: []string{"revision", "updated_at"}},
	// A version of 0 only says that something waits for the first one.
	{name: "applied", where: "version > 0"},
}

// waiting are tables of what is not booked yet: they are put in place, but what waits there by now
// is not compared.
var waiting = []string{"parked"}

// helpers are tables that the shadow needs as well and that are not put in place.
var helpers = []string{"dead", "source"}

// records are costing's own records that labour is priced by or that are booked themselves. The
// shadow has a copy of their rows.
var records = []string{"pay_rate", "burden", "pay_rule", "overhead_rate", "overhead_actual", "month_close", "month_reopen", "month_share", "month_balance", "month_day"}

// describe reads the tables' columns, their keys, and the statements that make the shadow's indexes.
func describe(ctx context.Context, q pg.Querier, schema string) ([]table, error) {
	out := slices.Clone(tables)
	for i := range out {
		t := &out[i]
		err := q.QueryRow(ctx, `
			SELECT (SELECT array_agg(attname::text ORDER BY attnum) FROM pg_attribute WHERE attrelid = c.oid AND attnum > 0 AND NOT attisdropped),
			       (SELECT array_agg(attname::text ORDER BY attnum) FROM pg_index JOIN pg_attribute ON attrelid = indrelid AND attnum = ANY (indkey)
			        WHERE indrelid = c.oid AND indisprimary),
			       coalesce(array_agg(i.def ORDER BY i.name) FILTER (WHERE NOT i.name = ANY (coalesce($4::text[], '{}'))), '{}'),
			       coalesce(array_agg(i.def ORDER BY i.name) FILTER (WHERE i.name = ANY ($4::text[])), '{}')
			FROM pg_class c LEFT JOIN LATERAL (
				SELECT indexname::text AS name, replace(indexdef, format(' ON %I.', schemaname), ' ON pg_temp.') AS def FROM pg_indexes
				WHERE schemaname = $1 AND tablename = $2 AND NOT indexname = ANY (coalesce($3::text[], '{}'))) AS i ON true
			WHERE c.oid = to_regclass(format('%I.%I', $1::text, $2::text)) GROUP BY c.oid`, schema, t.name, t.unread, t.late).
			Scan(&t.columns, &t.key, &t.indexes, &t.lateIndexes)
		if err != nil {
			return nil, fmt.Errorf("columns of %s: %w", t.name, err)
		}
	}
	return out, nil
}

// table finds a table.
func (s *shadow) table(name string) table {
	return s.tables[slices.IndexFunc(s.tables, func(t table) bool { return t.name == name })]
}

// compared are the columns in which a row must agree, of a table called as.
func (t table) compared(as string) string { return t.but(as+".", slices.Concat(t.story, t.drawn)) }

// but lists the columns, each with what stands before its name, without some.
func (t table) but(before string, left []string) string {
	var out []string
	for _, c := range t.columns {
		if !slices.Contains(left, c) {
			out = append(out, before+c)
		}
	}
	return strings.Join(out, ", ")
}

// put is the beginning of a statement that puts rows of the shadow's table, called t, in place.
func (t table) put() string {
	return fmt.Sprintf(`INSERT INTO %%[1]s.%[1]s (%[2]s) SELECT %[3]s FROM pg_temp.%[1]s t`, t.name, t.but("", t.drawn), t.but("t.", t.drawn))
}

// rows are those that are compared, in a schema, each with the hash of what is compared.
func (t table) rows(schema string) string {
	where := t.where
	if where == "" {
		where = "true"
	}
	return fmt.Sprintf(`(SELECT r.*, hash_record_extended(ROW(%s), 0) AS hash FROM %s.%s AS r WHERE %s)`, t.compared("r"), schema, t.name, where)
}

// keys lists the key's columns.
func (t table) keys() string { return strings.Join(t.key, ", ") }

// same is the condition that two rows have one key.
func (t table) same(a, b string) string {
	var all []string
	for _, c := range t.key {
		all = append(all, fmt.Sprintf("%s.%s = %s.%s", a, c, b, c))
	}
	return strings.Join(all, " AND ")
}
