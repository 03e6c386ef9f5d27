package pg_test

import (
	"fmt"
	"testing"
	"time"

	"tackfree/pkg/id"
	"tackfree/pkg/pg"
)

// Lists arrive as they were sent, whatever they are of: the database writes them down.
func TestDB_SendsLists(t *testing.T) {
	db := open(t)
	one, other := id.New(), id.New()
	early := time.Date(1987, time.March, 4, 5, 6, 7, 123456999, time.UTC)
	tests := []struct {
		kind string
		list any
		want string
	}{
		{"uuid", []id.ID{one, id.Nil, other}, fmt.Sprintf("{%s,%s,%s}", one, id.Nil, other)},
		{"text", []string{"sand", "", "two, \"three\"", "Kürbis"}, `{sand,"","two, \"three\"",Kürbis}`},
		{"varchar", []string{"sand"}, "{sand}"},
		{"smallint", []int16{-1, 0, 32767}, "{-1,0,32767}"},
		{"integer", []int32{-1, 2147483647}, "{-1,2147483647}"},
		{"bigint", []int64{-1, 1 << 62}, "{-1,4611686018427387904}"},
		{"bigint", []int32{7}, "{7}"},
		{"boolean", []bool{true, false}, "{t,f}"},
		{"timestamptz", []time.Time{early}, `{"1987-03-04 05:06:07.123456+00"}`},
		{"timestamptz", []*time.Time{nil, &early}, `{NULL,"1987-03-04 05:06:07.123456+00"}`},
		{"text", []string{}, "{}"},
		{"text", []string(nil), "none"},
		{"uuid", []id.ID(nil), "none"},
	}
	for _, test := range tests {
		t.Run(fmt.Sprintf("%s %v", test.kind, test.list), func(t *testing.T) {
			var got string
			err := db.View(t.Context(), func(q pg.Querier) error {
				return q.QueryRow(t.Context(), `SELECT coalesce($1::`+test.kind+`[]::text, 'none')`, test.list).Scan(&got)
			})
			if err != nil {
				t.Fatal(err)
			}
			if got != test.want {
				t.Errorf("it arrives as %s, want %s", got, test.want)
			}
		})
	}
}

// Lists come back too.
func TestDB_ReadsLists(t *testing.T) {
	db := open(t)
	var words []string
	var times []time.Time
	err := db.View(t.Context(), func(q pg.Querier) error {
		return q.QueryRow(t.Context(), `SELECT ARRAY ['sand', 'seal'], ARRAY ['2026-03-04 05:06:07+00'::timestamptz]`).Scan(&words, &times)
	})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := fmt.Sprint(words, times), "[sand seal] [2026-03-04 05:06:07 +0000 UTC]"; got != want {
		t.Errorf("read %s, want %s", got, want)
	}
}
