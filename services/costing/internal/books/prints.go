package books

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/pg"
)

// parts is into how many parts the rows of a table fall, by their hash; a power of two.
const parts = 256

// print is what many rows come to: how many they are, and the sum of their hashes of 64 bits. Two
// sides that have the same print have the same rows; a chance of 1 in 10^19 it is that others have.
type print struct {
	rows int64
	sum  string // a whole number
}

// printed are prints by part.
type printed map[int]print

// apart lists the parts in which two sides differ.
func (p printed) apart(q printed) (out []int) {
	for part := range parts {
		if p[part] != q[part] {
			out = append(out, part)
		}
	}
	return out
}

// asker is a connection or a transaction.
type asker interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
}

// take makes the print of a subquery of parts and hashes. The database must not look into it, or
// it hashes each row once for the part and once for the sum.
func take(ctx context.Context, q asker, of string) (printed, error) {
	rows, err := q.Query(ctx, fmt.Sprintf(`SELECT part, count(*), sum(hash)::text FROM (%s OFFSET 0) AS every GROUP BY part`, of))
	if err != nil {
		return nil, err
	}
	out := printed{}
	var part int
	var p print
	_, err = pgx.ForEachRow(rows, []any{&part, &p.rows, &p.sum}, func() error {
		out[part] = p
		return nil
	})
	return out, err
}

// hashed is the subquery for the print of the table's rows in a schema.
func (t table) hashed(schema string) string {
	return fmt.Sprintf(`SELECT (hash & %d)::integer AS part, hash FROM %s AS r`, parts-1, t.rows(schema))
}

// steps are the columns of a line that tell by which steps a group came to what it comes to.
var steps = []string{"tx_id", "line", "event_id", "recorded_at", "position", "amount"}

// net is the subquery of what groups come to, whatever steps it took, in a schema.
func (s *shadow) net(schema string) string {
	of := strings.Join(slices.DeleteFunc(slices.Clone(s.table(posting).columns), func(c string) bool { return slices.Contains(steps, c) }), ", ")
	return fmt.Sprintf(`(SELECT %[1]s, sum(amount) AS amount FROM %[2]s.posting WHERE group_kind <> '' GROUP BY %[1]s HAVING sum(amount) <> 0)`, of, schema)
}

// groupPart is the part that a group falls into.
var groupPart = fmt.Sprintf(`(hash_record_extended(ROW(group_kind, group_id), 0) & %d)::integer`, parts-1)

// ofGroups names the print of what groups come to.
const ofGroups = "groups"

// printsOf makes the prints of all tables in a schema, and of what groups come to.
func (s *shadow) printsOf(ctx context.Context, q asker, schema string) (map[string]printed, error) {
	queries := map[string]string{ofGroups: fmt.Sprintf(`SELECT %s AS part, hash_record_extended(n, 0) AS hash FROM %s AS n`, groupPart, s.net(schema))}
	for _, t := range s.tables {
		queries[t.name] = t.hashed(schema)
	}
	out := map[string]printed{}
	for _, name := range slices.Sorted(maps.Keys(queries)) {
		p, err := take(ctx, q, queries[name])
		if err != nil {
			return nil, fmt.Errorf("sum up %s: %w", name, err)
		}
		out[name] = p
	}
	return out, nil
}

// prints makes the prints of both sides, at the same time, for they are in sessions of their own.
func (s *shadow) prints(ctx context.Context, live *pgx.Conn) (theirs, ours map[string]printed, err error) {
	there := make(chan error, 1)
	go func() {
		var err error
		theirs, err = s.printsOf(ctx, live, s.live)
		there <- err
	}()
	err = s.db.View(ctx, func(q pg.Querier) (err error) {
		ours, err = s.printsOf(ctx, q, "pg_temp")
		return err
	})
	return theirs, ours, errors.Join(err, <-there)
}

// findings are the tables, and perhaps the groups, in which two sides differ, and in which parts.
type findings struct {
	tables []table
	parts  map[string][]int
}

func (s *shadow) findings(theirs, ours map[string]printed) findings {
	f := findings{parts: map[string][]int{}}
	for name := range ours {
		if apart := theirs[name].apart(ours[name]); len(apart) > 0 {
			f.parts[name] = apart
		}
	}
	for _, t := range s.tables {
		if f.in(t.name) {
			f.tables = append(f.tables, t)
		}
	}
	return f
}

// in reports whether the sides differ there.
func (f findings) in(name string) bool { return len(f.parts[name]) > 0 }

func (f findings) none() bool { return len(f.parts) == 0 }
