package books

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/money"
)

// apart is the query of the keys of rows that are not the same on both sides.
func (t table) apart() string {
	return fmt.Sprintf(`SELECT %[2]s FROM gone_%[1]s UNION SELECT %[2]s FROM come_%[1]s`, t.name, t.keys())
}

// both reads the first of those rows as the two sides have them, null where one has none, with the number on the tag
// of the piece that they are of.
func (t table) both(live string) string {
	tag := "NULL::integer"
	if slices.Contains(t.columns, "piece_id") {
		tag = fmt.Sprintf(`coalesce((SELECT tag FROM %s.piece WHERE piece_id = coalesce(r.piece_id, o.piece_id)), (SELECT tag FROM pg_temp.piece WHERE piece_id = coalesce(r.piece_id, o.piece_id) LIMIT 1))`, live)
	}
	has := func(as string) string {
		return fmt.Sprintf(`CASE WHEN %[1]s.%[2]s IS NOT NULL THEN to_jsonb(%[1]s) END`, as, t.key[0])
	}
	return fmt.Sprintf(`SELECT %s, %s, %s FROM (SELECT * FROM (%s) AS k ORDER BY %s LIMIT %d) AS k
		LEFT JOIN %s.%s AS r ON %s LEFT JOIN pg_temp.%s AS o ON %s ORDER BY %s`,
		has("r"), has("o"), tag, t.apart(), t.keys(), maxTold, live, t.name, t.same("r", "k"), t.name, t.same("o", "k"), strings.Join(prefixed("k.", t.key), ", "))
}

func prefixed(with string, names []string) []string {
	out := make([]string, len(names))
	for i, name := range names {
		out[i] = with + name
	}
	return out
}

// fields are a row's columns, as JSON.
type fields map[string]json.RawMessage

// text is a column's value as it is read, without quotation marks.
func (f fields) text(column string) string {
	var text string
	if json.Unmarshal(f[column], &text) == nil {
		return text
	}
	return string(f[column])
}

// row says in words how the two sides differ in a row.
func (s *shadow) row(t table) func(pgx.CollectableRow) (string, error) {
	return func(row pgx.CollectableRow) (string, error) {
		var books, events fields
		var tag *int32
		if err := row.Scan(&books, &events, &tag); err != nil {
			return "", err
		}
		switch {
		case events == nil:
			return t.title(books, tag) + ": " + inBooks, nil
		case books == nil:
			return t.title(events, tag) + ": " + byEvents, nil
		}
		var apart []string
		for _, c := range t.columns {
			if !slices.Contains(slices.Concat(t.story, t.drawn), c) && !bytes.Equal(books[c], events[c]) {
				apart = append(apart, fmt.Sprintf("%s: %s in the books, %s by the events", columnTitle(c), s.valueOf(c, books), s.valueOf(c, events)))
			}
		}
		if len(apart) == 0 { // the shadow has its key twice, and once as it is here
			return t.title(books, tag) + ": more than once by the events", nil
		}
		return t.title(books, tag) + ", " + strings.Join(apart, "; "), nil
	}
}

// title says which row it is, as people call it if they do.
func (t table) title(f fields, tag *int32) string {
	piece := "of a piece that is not in the books"
	if tag != nil {
		piece = fmt.Sprintf("of piece %d", *tag)
	}
	switch t.name {
	case "piece":
		return "piece " + f.text("tag")
	case "stage":
		return fmt.Sprintf("stage %s (%s) %s", f.text("key"), f.text("part_label"), piece)
	case "stretch":
		if string(f["piece_id"]) == "null" {
			piece = "on no piece"
		}
		return fmt.Sprintf("clock entry %s of %s, %s, told by event %s", f.text("entry_id"), f.text("person_name"), piece, f.text("event_id"))
	}
	title := strings.ReplaceAll(t.name, "_", " ")
	for _, k := range t.key {
		title += " " + f.text(k)
	}
	if tag != nil {
		title += " " + piece
	}
	return title
}

// amounts are the columns of what is compared that are money.
var amounts = append([]string{"quoted", "price"}, sums...)

// valueOf writes a column's value as people read it.
func (s *shadow) valueOf(column string, f fields) string {
	var n int64
	switch {
	case json.Unmarshal(f[column], &n) != nil:
	case slices.Contains(amounts, column):
		return s.currency.Format(money.Amount(n))
	case strings.HasSuffix(column, "_ms"):
		return (time.Duration(n) * time.Millisecond).String()
	}
	return cmp.Or(f.text(column), "nothing")
}

// columnTitle is what a column is called.
func columnTitle(column string) string {
	if of, time := strings.CutSuffix(column, "_ms"); time {
		column = of + "_time"
	}
	return strings.ReplaceAll(column, "_", " ")
}
