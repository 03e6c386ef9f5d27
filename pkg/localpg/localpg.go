// Package localpg finds or gets a Postgres server and runs a private one for
// one shop. Plumbing.
//
//	Resolve ──► Find ── found ──► Start ──► initdb (once) ──► postgres
//	              │                                              ▲
//	              │ not found                                    │ SIGINT when this
//	              ├──► Docker answers ──► a container            │ process ends,
//	              ├──► Install ──► package manager, Find, Start  │ however it ends
//	              └──► one error that names every way
//
// Everything of one cluster lies in one folder, and one process owns it:
//
//	Dir/lock       flock of the owner, holds its pid
//	Dir/password   of the superuser, mode 0600
//	Dir/data/      the cluster; data.new-* while initdb works on it
//	Dir/run/       the unix socket (a short temporary folder if Dir is too deep)
//	Dir/log/       postgres.log, and postgres.log.1 after it grew past 10 MiB
//	Dir/container  the image, if the cluster was made in a container
//
// The lock tells the two reasons for a running postgres apart: somebody holds
// it, so a second copy of the shop was started and is refused; nobody holds
// it, so the postgres is an orphan of a killed shop and is stopped first.
//
// Postgres refuses to run as root. As root, the server and initdb run as the
// owner of an existing cluster, else as user postgres, else as nobody.
package localpg

import (
	"log/slog"
	"net"
	"net/url"
	"strconv"
	"strings"
	"sync"
)

// superuser is the role that initdb makes and URL logs in as.
const superuser = "postgres"

// Options say where the private server lives and how it runs.
// Only Dir is required.
type Options struct {
	// Dir is the cluster root; it is created (0700; as root 0710, open to the
	// group of the user that postgres runs as) if missing. Data lives in
	// Dir/data, the socket in Dir/run or in a short temporary folder.
	Dir string
	// BinDir is the folder of postgres and initdb; empty: search, see Find.
	BinDir string
	// Throwaway trades safety for speed: the data may be lost at a crash.
	Throwaway bool
	// Settings are extra settings of postgresql.conf, e.g. shared_buffers.
	// Those that say where the server lives and listens are refused.
	Settings map[string]string
	// TCP makes the server listen on a free port of 127.0.0.1 too.
	TCP bool
	// Log gets starts, stops and unexpected ends; nil: discard.
	Log *slog.Logger
	// Progress gets one-liners for people, such as "creating a private
	// Postgres in ..."; nil: none.
	Progress func(string)
}

// withDefaults fills the optional functions, so that nobody checks for nil.
func (o Options) withDefaults() Options {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.Progress == nil {
		o.Progress = func(string) {}
	}
	return o
}

// Server is a running private Postgres. All methods are safe for concurrent use.
type Server struct {
	version  string
	password string
	socket   string // folder of the unix socket; empty for a container
	tcp      bool
	port     uint16
	process  *process
	forced   func() // extra work after SIGKILL; a container outlives its client

	done     chan struct{}
	stopOnce sync.Once
	stopErr  error
}

// URL returns the superuser's DSN of a database, as postgres://..., through
// the unix socket where there is one. It holds the password: don't log it.
func (s *Server) URL(database string) string {
	u := url.URL{Scheme: "postgres", User: url.UserPassword(superuser, s.password), Path: "/" + database}
	query := url.Values{"sslmode": {"disable"}}
	port := strconv.Itoa(int(s.port))
	if s.socket == "" {
		u.Host = net.JoinHostPort("127.0.0.1", port)
	} else {
		query.Set("host", s.socket)
		query.Set("port", port)
	}
	// Encode writes a blank as a plus, which only forms read as one; libpq does not. A plus
	// itself it writes as %2B.
	u.RawQuery = strings.ReplaceAll(query.Encode(), "+", "%20")
	return u.String()
}

// HostPort returns where clients connect: the folder of the unix socket, or
// 127.0.0.1 when Options.TCP was set or the server is a container.
func (s *Server) HostPort() (host string, port uint16) {
	if s.tcp {
		return "127.0.0.1", s.port
	}
	return s.socket, s.port
}

// Password returns the superuser's password.
func (s *Server) Password() string { return s.password }

// User returns the superuser's name.
func (s *Server) User() string { return superuser }

// PID returns the process id of the postmaster, or of the docker client.
func (s *Server) PID() int { return s.process.pid }

// Version returns the server's version, such as "15.18".
func (s *Server) Version() string { return s.version }

// Done is closed when postgres ended, expected or not, and its folder is free
// for the next Start.
func (s *Server) Done() <-chan struct{} { return s.done }
