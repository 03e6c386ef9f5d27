package server_test

import (
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"tackfree/pkg/svctest"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// busy fills the floor of a shop that has 200 pieces of 25 stages in work, each as far as its
// number says, with what dries on them and where they stand, and that has done a thousand.
var busy = []string{
	`INSERT INTO person (id, display_name, name_key, skills, version)
	 SELECT gen_random_uuid(), 'Person ' || n, 'person ' || n, '{}', 1 FROM generate_series(1, 12) n`,
	`INSERT INTO station (id, word, display_name, kind, capacity, unit, open_hours, stage_kinds, changeover_minutes, retired, version)
	 VALUES (gen_random_uuid(), 'rack', 'Rack', 'rack', 10000, 'parts', '[]', '{}', 0, false, 1)`,
	`INSERT INTO piece (id, tag, taken_in_at, scrapped, planned, version, promised_at, value)
	 SELECT gen_random_uuid(), n, '2026-01-01', false, true, 1, '2026-04-01', 45000 FROM generate_series(1, 1200) n`,
	// A piece has four parts and 25 stages; 1,000 are done, of the others as many stages as n % 25.
	`INSERT INTO part (piece_id, id, label, count) SELECT p.id, gen_random_uuid(), 'part ' || n, 1 FROM piece p, generate_series(1, 4) n`,
	`INSERT INTO stage (id, piece_id, part_id, part_label, key, kind, skill, position, attended_minutes, unattended_minutes, after_ids, pass, needs, product_name, station,
	                    finished_at, assignee_id)
	 SELECT gen_random_uuid(), p.id, t.id, t.label, 'step-' || n, (ARRAY ['strip', 'sand', 'paint_coat', 'scuff_sand', 'topcoat_coat'])[1 + n % 5], '', n, 30, 60, '{}', 1, 'recoat',
	        'Varnish', 'bench', CASE WHEN p.tag <= 1000 OR n <= p.tag % 25 THEN now() - (CASE WHEN p.tag <= 1000 THEN 5000 ELSE 0 END + p.tag % 25 - n) * interval '1 hour' END,
	        (SELECT id FROM person OFFSET (p.tag + n) % 12 LIMIT 1)
	 FROM piece p, generate_series(1, 25) n JOIN LATERAL (SELECT id, label FROM part WHERE piece_id = p.id ORDER BY label OFFSET n % 4 LIMIT 1) t ON true`,
	`UPDATE stage s SET after_ids = ARRAY (SELECT b.id FROM stage b WHERE b.piece_id = s.piece_id AND b.part_id = s.part_id AND b.position BETWEEN s.position - 8 AND s.position - 1)`,
	`INSERT INTO dry_clock (stage_id, piece_id, part_id, kind, laid_at, film_um, minutes, needs, zone_ids, zone_from, seen, learned, windows, felt, sand_at, recoat_at, cured_at, closes_at,
	                        ready_said, close_said, ended)
	 SELECT id, piece_id, part_id, 'film', finished_at, 100, 0, 'recoat', '{}', '{}', 0, 0, '{}', '{}', finished_at + interval '2 hours', finished_at + interval '4 hours',
	        finished_at + interval '3 days', finished_at + interval '1 day', true, true, finished_at < now() - interval '4 days'
	 FROM stage WHERE finished_at IS NOT NULL AND kind IN ('paint_coat', 'topcoat_coat')`,
	`INSERT INTO placement (id, piece_id, part_id, takes, station_id, from_at)
	 SELECT gen_random_uuid(), t.piece_id, t.id, 1, s.id, '2026-03-01' FROM part t JOIN piece p ON p.id = t.piece_id, station s WHERE p.tag > 1000`,
	`INSERT INTO clock_entry (id, person_id, piece_id, stage_id, pass, started_at, ended_at, superseded, actor, reason)
	 SELECT gen_random_uuid(), w.id, s.piece_id, s.id, 1, timestamptz '2020-01-01' + n * interval '1 hour', timestamptz '2020-01-01' + n * interval '1 hour' + interval '50 minutes', false, '', ''
	 FROM (SELECT id, row_number() OVER () AS nth FROM person) w, generate_series(1, 2500) n, LATERAL (SELECT id, piece_id FROM stage WHERE piece_id = (SELECT id FROM piece WHERE tag = 1 + n % 1000) LIMIT 1) s`,
	`INSERT INTO clock_entry (id, person_id, piece_id, stage_id, pass, started_at, superseded, actor, reason)
	 SELECT gen_random_uuid(), w.id, s.piece_id, s.id, 1, now() - interval '1 hour', false, '', ''
	 FROM (SELECT id, row_number() OVER () AS nth FROM person) w JOIN LATERAL (
	     SELECT s.id, s.piece_id FROM stage s JOIN piece p ON p.id = s.piece_id WHERE p.tag = 1000 + w.nth * 7 AND s.finished_at IS NULL ORDER BY s.position LIMIT 1) s ON true`,
	`VACUUM ANALYZE`,
}

// bare is the same rows with no more than is needed to tell what the board tells.
var bare = []string{
	`SELECT p.id, p.tag, p.promised_at, p.value, count(*), count(s.finished_at) FROM piece p JOIN stage s ON s.piece_id = p.id WHERE p.tag > 1000 GROUP BY p.id`,
	`SELECT s.id, s.piece_id, s.part_id, s.part_label, s.key, s.kind, s.after_ids, s.pass, s.needs, s.finished_at, s.batch_id, s.product_name, s.station, w.display_name, s.helper_ids
	 FROM stage s JOIN piece p ON p.id = s.piece_id LEFT JOIN person w ON w.id = s.assignee_id
	 WHERE p.tag > 1000 AND s.finished_at IS NULL ORDER BY s.piece_id, s.position`,
	`SELECT c.piece_id, c.stage_id, w.display_name FROM clock_entry c JOIN person w ON w.id = c.person_id WHERE c.ended_at IS NULL`,
	`SELECT c.stage_id, c.piece_id, c.part_id, c.kind, c.laid_at, c.sand_at, c.recoat_at, c.cured_at, c.closes_at FROM dry_clock c JOIN piece p ON p.id = c.piece_id WHERE p.tag > 1000`,
	`SELECT l.piece_id, l.part_id, l.from_at, t.label, s.word FROM placement l JOIN part t ON t.piece_id = l.piece_id AND t.id = l.part_id JOIN station s ON s.id = l.station_id WHERE l.to_at IS NULL`,
}

// fillBusy fills the floor, and gives a connection to it.
func fillBusy(b testing.TB, f *floor) *pgx.Conn {
	b.Helper()
	conn, err := pgx.Connect(b.Context(), f.URL)
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { _ = conn.Close(b.Context()) })
	for _, sql := range append([]string{`SET search_path = workflow`}, busy...) {
		if _, err := conn.Exec(b.Context(), sql); err != nil {
			b.Fatalf("%.60s: %v", sql, err)
		}
	}
	return conn
}

// readBare reads the rows, and does nothing with them.
func readBare(b *testing.B, conn *pgx.Conn) {
	b.Helper()
	for _, sql := range bare {
		rows, err := conn.Query(b.Context(), sql)
		if err != nil {
			b.Fatal(err)
		}
		for rows.Next() {
		}
		if err := rows.Err(); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkListBoard reads the board of a busy shop in one page, in turns with bare SQL.
func BenchmarkListBoard(b *testing.B) {
	f := setup(b)
	conn := fillBusy(b, f)
	var board, rows []time.Duration
	for b.Loop() {
		began := time.Now()
		r, err := f.view().ListBoard(b.Context(), &workflowv1.ListBoardRequest{PageSize: 200})
		if err != nil || len(r.Lines) != 192 && len(r.Lines) != 200 {
			b.Fatalf("ListBoard gave %d lines, %v", len(r.GetLines()), err)
		}
		board = append(board, time.Since(began))
		began = time.Now()
		readBare(b, conn)
		rows = append(rows, time.Since(began))
	}
	slices.Sort(board)
	slices.Sort(rows)
	middle, last := len(board)/2, len(board)*99/100
	b.ReportMetric(board[middle].Seconds()*1000, "ms/board")
	b.ReportMetric(board[last].Seconds()*1000, "ms/board-p99")
	b.ReportMetric(rows[middle].Seconds()*1000, "ms/bare")
	b.ReportMetric(float64(board[middle])/float64(rows[middle]), "x/bare")
}

// crowd is many who watch the floor, and when each was told of what.
type crowd struct {
	*floor
	mu     sync.Mutex
	sent   map[string]time.Time // by request
	delays []time.Duration
	done   sync.WaitGroup
}

// crowded has so many watch; each leaves when it was told of so many commands.
func crowded(t testing.TB, f *floor, watchers, commands int) *crowd {
	t.Helper()
	c := &crowd{floor: f, sent: map[string]time.Time{}}
	for range watchers {
		stream, err := f.view().WatchFloor(svctest.Ctx(t), &workflowv1.WatchFloorRequest{})
		if err != nil {
			t.Fatal(err)
		}
		w := watching{ServerStreamingClient: stream}
		w.next(t)
		c.done.Go(func() { c.follow(t, w, commands) })
	}
	return c
}

func (c *crowd) follow(t testing.TB, w watching, commands int) {
	for range commands {
		told, err := w.Recv()
		if err != nil {
			t.Error(err)
			return
		}
		now := time.Now()
		c.mu.Lock()
		c.delays = append(c.delays, now.Sub(c.sent[told.Event.RequestId]))
		c.mu.Unlock()
	}
}

// command clocks one of some people on, or off again.
func (c *crowd) command(t testing.TB, names, stages []string, n int) {
	t.Helper()
	who, round := n/2%len(names), n/2/len(names)
	on, off := c.clockOn(names[who], stages[who], 2*round), clockOff(names[who], 2*round+1)
	c.mu.Lock()
	c.sent[on.RequestId], c.sent[off.RequestId] = time.Now(), time.Now()
	c.mu.Unlock()
	var err error
	if n%2 == 0 {
		_, err = c.clocks.ClockOn(svctest.Ctx(t), on)
	} else {
		_, err = c.clocks.ClockOff(svctest.Ctx(t), off)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// atWork are people and a stage for each.
func (f *floor) atWork(t testing.TB, n int) (names, stages []string) {
	t.Helper()
	for i := range n {
		_, of := f.drawers(t, int32(11+i))
		stages = append(stages, of["dewax left"])
	}
	return f.names(t, n), stages
}

// delay gives a quantile of the delays, of 100.
func (c *crowd) delay(quantile int) time.Duration {
	slices.Sort(c.delays)
	return c.delays[len(c.delays)*quantile/100]
}

// Thirty watch while people clock on and off, and most are told of it within a quarter of a
// second: BenchmarkWatchFloor says it of a hundred, and of nearly all.
func TestServer_WatchFloor_Many(t *testing.T) {
	t.Parallel()
	f := setup(t)
	const watchers, commands = 30, 40
	names, stages := f.atWork(t, 4)
	c := crowded(t, f, watchers, commands)
	for n := range commands {
		c.command(t, names, stages, n)
	}
	c.done.Wait()
	if len(c.delays) != watchers*commands {
		t.Errorf("%d were told, want %d", len(c.delays), watchers*commands)
	}
	if d := c.delay(50); d > 250*time.Millisecond {
		t.Errorf("half of them were told after %s, want 250 ms at most", d)
	}
}

// BenchmarkWatchFloor has a hundred watch a floor that gives 50 commands a second, and says
// after how long they were told, from when the command was given.
func BenchmarkWatchFloor(b *testing.B) {
	f := setup(b)
	names, stages := f.atWork(b, 12)
	c := crowded(b, f, 100, b.N)
	tick := time.NewTicker(time.Second / 50)
	defer tick.Stop()
	b.ResetTimer()
	for n := range b.N {
		<-tick.C
		c.command(b, names, stages, n)
	}
	c.done.Wait()
	b.ReportMetric(c.delay(50).Seconds()*1000, "ms/told")
	b.ReportMetric(c.delay(99).Seconds()*1000, "ms/told-p99")
}
