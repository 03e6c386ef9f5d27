package bench

import (
	"bufio"
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"net"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"
)

// A tape stands between a service and its database and records what the service sends, word for
// word. Played from memory it is the service's SQL without the service:
//
//	service ─▶ tape ─▶ Postgres        tape ─▶ Postgres
//	            └─ records              └─ plays, as fast as it is answered
type tape struct {
	listener net.Listener
	database *pgx.ConnConfig

	mu       sync.Mutex
	settings map[string]string // of the service's connections
	turns    []turn
	conns    int
}

// turn is what one connection sends before it waits for an answer.
type turn struct {
	conn  int
	bytes []byte
	early bool // before the first booking: the service asks for its tables, which may not be there yet
}

// newTape records what is sent to a database through URL.
func newTape(databaseURL string) (*tape, error) {
	database, err := pgx.ParseConfig(databaseURL)
	if err != nil {
		return nil, err
	}
	l, err := new(net.ListenConfig).Listen(context.Background(), "tcp", "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	t := &tape{listener: l, database: database}
	go t.accept()
	return t, nil
}

// URL is where the service finds the tape.
func (t *tape) URL() string {
	u := url.URL{Scheme: "postgres", User: url.UserPassword(t.database.User, t.database.Password), Host: t.listener.Addr().String(), Path: "/" + t.database.Database}
	u.RawQuery = "sslmode=disable"
	return u.String()
}

func (t *tape) accept() {
	for {
		client, err := t.listener.Accept()
		if err != nil {
			return // the recording is over
		}
		t.mu.Lock()
		t.conns++
		n := t.conns
		t.mu.Unlock()
		go t.pass(n, client)
	}
}

// pass passes on what both sides of a connection say.
func (t *tape) pass(n int, client net.Conn) {
	defer func() { _ = client.Close() }()
	server, err := t.dial(context.Background())
	if err != nil {
		return
	}
	defer func() { _ = server.Close() }()
	go func() { _, _ = io.Copy(client, server) }()
	_ = t.record(n, client, server) // it ends with the connection
}

// dial reaches the database itself.
func (t *tape) dial(ctx context.Context) (net.Conn, error) {
	network, address := "tcp", net.JoinHostPort(t.database.Host, strconv.Itoa(int(t.database.Port)))
	if t.database.Host != "" && t.database.Host[0] == '/' {
		network, address = "unix", t.database.Host+"/.s.PGSQL."+strconv.Itoa(int(t.database.Port))
	}
	return new(net.Dialer).DialContext(ctx, network, address)
}

// record keeps what a client sends, cut where it waits for an answer: after a Sync, a simple query
// and the end of a COPY. Of the greeting it keeps the settings.
func (t *tape) record(n int, client io.Reader, server io.Writer) error {
	head := make([]byte, 5)
	if _, err := io.ReadFull(client, head[1:]); err != nil { // the first message has no type
		return err
	}
	var said bytes.Buffer
	if err := forward(client, server, head[1:], &said); err != nil {
		return err
	}
	t.greeted(said.Bytes())
	said.Reset()
	for {
		if _, err := io.ReadFull(client, head); err != nil {
			return err
		}
		kept := &said
		if head[0] == 'p' || head[0] == 'X' { // a password, and farewell
			kept = nil
		}
		if err := forward(client, server, head, kept); err != nil {
			return err
		}
		if slices.Contains([]byte("SQcf"), head[0]) {
			t.mu.Lock()
			t.turns = append(t.turns, turn{conn: n, bytes: bytes.Clone(said.Bytes())})
			t.mu.Unlock()
			said.Reset()
		}
	}
}

// greeted reads a first message: its length, the protocol's version, and names with values, each with
// a zero behind it.
func (t *tape) greeted(message []byte) {
	words := strings.Split(string(message[8:]), "\x00")
	t.mu.Lock()
	defer t.mu.Unlock()
	t.settings = map[string]string{}
	for i := 0; i+1 < len(words) && words[i] != ""; i += 2 {
		if words[i] != "user" && words[i] != "database" {
			t.settings[words[i]] = words[i+1]
		}
	}
}

// forward passes a message on whose type and length were read, and keeps it.
func forward(client io.Reader, server io.Writer, head []byte, kept *bytes.Buffer) error {
	length := int(binary.BigEndian.Uint32(head[len(head)-4:])) - 4
	message := append(slices.Clone(head), make([]byte, length)...)
	if _, err := io.ReadFull(client, message[len(head):]); err != nil {
		return err
	}
	if kept != nil {
		kept.Write(message)
	}
	_, err := server.Write(message)
	return err
}

// cut ends the recording and keeps the connections on which something was booked.
func (t *tape) cut() {
	_ = t.listener.Close()
	t.mu.Lock()
	defer t.mu.Unlock()
	booked := map[int]bool{}
	for i, turn := range t.turns {
		if bytes.Contains(turn.bytes, []byte("pg_advisory_xact_lock($1)")) {
			booked[turn.conn] = true
		}
		t.turns[i].early = len(booked) == 0
	}
	t.turns = slices.DeleteFunc(t.turns, func(turn turn) bool { return !booked[turn.conn] })
}

// play sends everything again, in its order, each turn when the one before is answered, and gives
// the time that took.
func (t *tape) play(ctx context.Context) (time.Duration, error) {
	ends := map[int]*bufio.ReadWriter{}
	for _, turn := range t.turns {
		if ends[turn.conn] == nil {
			conn, err := t.connect(ctx)
			if err != nil {
				return 0, err
			}
			defer func() { _ = conn.Close() }()
			ends[turn.conn] = bufio.NewReadWriter(bufio.NewReader(conn), bufio.NewWriter(conn))
		}
	}
	began := time.Now()
	for i, turn := range t.turns {
		if err := turn.play(ends[turn.conn]); err != nil {
			return 0, fmt.Errorf("turn %d of %d: %w", i+1, len(t.turns), err)
		}
	}
	return time.Since(began), nil
}

// connect makes a connection as the service makes its own.
func (t *tape) connect(ctx context.Context) (net.Conn, error) {
	c := t.database.Copy()
	c.RuntimeParams = t.settings
	conn, err := pgx.ConnectConfig(ctx, c)
	if err != nil {
		return nil, err
	}
	raw, err := conn.PgConn().Hijack()
	if err != nil {
		return nil, err
	}
	return raw.Conn, nil
}

// play sends a turn and reads what is answered, until the database waits: for the next turn, or for
// rows to copy.
func (t turn) play(at *bufio.ReadWriter) error {
	if _, err := at.Write(t.bytes); err != nil {
		return err
	}
	if err := at.Flush(); err != nil {
		return err
	}
	head := make([]byte, 5)
	for {
		if _, err := io.ReadFull(at, head); err != nil {
			return err
		}
		length := int64(binary.BigEndian.Uint32(head[1:])) - 4
		switch head[0] {
		case 'E':
			text, err := io.ReadAll(io.LimitReader(at, length))
			if err != nil || !t.early {
				return errors.Join(fmt.Errorf("the database says %q", text), err)
			}
			continue
		case 'Z', 'G':
			_, err := io.CopyN(io.Discard, at, length)
			return err
		}
		if _, err := io.CopyN(io.Discard, at, length); err != nil {
			return err
		}
	}
}
