package faults_test

import (
	"net"
	"net/url"
	"slices"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
)

// fate is what becomes of a commit.
type fate struct {
	late time.Duration // held up for so long before it is passed on
	slow time.Duration // done, and the answer is held up for so long
	lost bool          // it never reaches the database, and the link is cut
	deaf bool          // it is done, and the link is cut before the answer comes
	then func()        // what happens to the service before it sees the link cut
}

// link stands between a service and Postgres, and decides of each commit what becomes of it. What
// was written before in the same transaction has reached the database by then.
type link struct {
	listen  net.Listener
	network string
	address string
	armed   atomic.Bool
	struck  atomic.Int64 // commits that were lost or never told
	// judge is asked about each commit, with the SQL of its transaction. Several may be asked at once.
	judge func(sql []string) fate
}

func newLink(t testing.TB, d *database, judge func(sql []string) fate) *link {
	t.Helper()
	c, err := pgconn.ParseConfig(d.admin)
	if err != nil {
		t.Fatal(err)
	}
	l := &link{judge: judge}
	l.network, l.address = pgconn.NetworkAddress(c.Host, c.Port)
	if l.listen, err = net.Listen("tcp", "127.0.0.1:0"); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = l.listen.Close() })
	go func() {
		for {
			in, err := l.listen.Accept()
			if err != nil {
				return
			}
			go l.pass(in)
		}
	}()
	return l
}

// url is a database's by way of the link.
func (l *link) url(raw string) string {
	u, err := url.Parse(raw)
	if err != nil {
		panic(err) // it is ours
	}
	query := u.Query()
	query.Del("host")
	query.Del("port")
	query.Set("sslmode", "disable")
	u.Host, u.RawQuery = l.listen.Addr().String(), query.Encode()
	return u.String()
}

// session is one connection through the link.
type session struct {
	*link
	in, out net.Conn
	cut     atomic.Bool   // nothing more is passed back
	slow    atomic.Int64  // for how long the next answer is held up, in nanoseconds
	done    chan struct{} // closed when the database says nothing more, or nothing that is passed back
}

func (l *link) pass(in net.Conn) {
	defer in.Close()
	out, err := net.Dial(l.network, l.address)
	if err != nil {
		return
	}
	defer out.Close()
	s := &session{link: l, in: in, out: out, done: make(chan struct{})}
	go s.back()
	s.forth()
}

// back passes what the database says, until the link is cut; then it waits until the commit is
// answered, and keeps the answer.
func (s *session) back() {
	defer close(s.done)
	for {
		f, err := readFrame(s.out, false)
		cut := s.cut.Load()
		time.Sleep(time.Duration(s.slow.Swap(0)))
		if cut && (err != nil || f.kind == 'Z') { // ready for the next
			return
		}
		if err == nil && !cut {
			_, err = s.in.Write(f.all)
		}
		if err != nil {
			_ = s.in.Close()
			return
		}
	}
}

// forth passes what the service says, but keeps a commit, with all that ends its round trip, until
// it is decided what becomes of it.
func (s *session) forth() {
	known, kept := statements{}, []byte(nil)
	var sql []string
	for first := true; ; first = false {
		f, err := readFrame(s.in, first)
		if err != nil {
			return
		}
		does := strings.ToLower(known.bound(f))
		if does != "" {
			sql = append(sql, does)
		}
		if does != "commit" && kept == nil {
			if _, err := s.out.Write(f.all); err != nil {
				return
			}
			if does == "begin" {
				sql = sql[:0]
			}
			continue
		}
		kept = append(kept, f.all...)
		if f.kind != 'S' && f.kind != 'Q' { // sync
			continue
		}
		if !s.commit(kept, slices.Clone(sql)) {
			return
		}
		kept, sql = nil, sql[:0]
	}
}

// commit does to a commit what is decided, and reports whether the link still stands.
func (s *session) commit(frames []byte, sql []string) bool {
	var f fate
	if s.armed.Load() {
		f = s.judge(sql)
	}
	if f.late > 0 {
		time.Sleep(f.late)
	}
	if !f.lost {
		s.cut.Store(f.deaf)
		s.slow.Store(int64(f.slow))
		if _, err := s.out.Write(frames); err != nil {
			return false
		}
	}
	if !f.lost && !f.deaf {
		return true
	}
	if f.deaf {
		<-s.done
	}
	if f.then != nil {
		f.then()
	}
	s.struck.Add(1)
	return false
}
