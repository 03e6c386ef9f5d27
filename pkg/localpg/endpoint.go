package localpg

import (
	"errors"
	"fmt"
	"io/fs"
	"net"
	"os"
	"path/filepath"
	"strconv"
)

const (
	// socketPort is part of the socket's name only. The folder is private, so
	// the well-known number clashes with nothing.
	socketPort = 5432

	// maxSocketPath is below the kernels' limits: 107 bytes on Linux, 103 on macOS.
	maxSocketPath = 90
)

// endpoint is where postgres listens.
type endpoint struct {
	socket    string // folder of the unix socket
	temporary bool   // the folder is to be removed at the end
	port      uint16
	tcp       bool
}

func (e endpoint) settings() map[string]string {
	listen := ""
	if e.tcp {
		listen = "127.0.0.1"
	}
	return map[string]string{
		"listen_addresses":        listen,
		"port":                    strconv.Itoa(int(e.port)),
		"unix_socket_directories": e.socket,
		"unix_socket_permissions": "0700",
	}
}

// newEndpoint picks the socket folder and port. Only one server uses the
// folder, so sockets found there are of a killed one and are removed.
func newEndpoint(l layout, a account, tcp bool) (endpoint, error) {
	e := endpoint{socket: l.run, port: socketPort, tcp: tcp}
	if !fitsSocket(l.run) {
		short, err := shortFolder(l, a)
		if err != nil {
			return endpoint{}, err
		}
		e.socket, e.temporary = short, true
	}
	if err := removeMatching(filepath.Join(e.socket, ".s.PGSQL.*")); err != nil {
		return endpoint{}, fmt.Errorf("removing the socket of a killed Postgres: %w", err)
	}
	return e, nil
}

// remove tidies up after the server.
func (e endpoint) remove() {
	if e.temporary {
		_ = os.RemoveAll(e.socket) // at worst an empty folder stays until the system clears it
	}
}

func fitsSocket(dir string) bool {
	return len(filepath.Join(dir, ".s.PGSQL.65535")) <= maxSocketPath
}

// shortFolder makes a private temporary folder for the socket of a cluster
// whose own path is too long. Its name is the same at every start, so that a
// kill leaves one folder behind and not one per kill.
func shortFolder(l layout, a account) (string, error) {
	for _, parent := range []string{os.TempDir(), "/tmp"} {
		dir := filepath.Join(realPath(parent), l.name())
		if !fitsSocket(dir) || blockedAt(filepath.Dir(dir), a) != "" {
			continue
		}
		if err := ownShortFolder(dir, a); err == nil {
			return dir, nil
		}
		dir, err := os.MkdirTemp(parent, "tackfree-") // the name is taken by somebody
		if err != nil {
			return "", fmt.Errorf("creating a short folder for the Postgres socket: %w", err)
		}
		return dir, a.own(dir)
	}
	return "", fmt.Errorf("the path of %s is too long for a unix socket, and no short temporary folder can be used by user %s; set TMPDIR to one or use a shorter path", l.root, a.name)
}

// ownShortFolder accepts an existing folder only if nobody else can be inside.
func ownShortFolder(dir string, a account) error {
	err := os.Mkdir(dir, 0o700)
	if err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	info, err := os.Lstat(dir)
	if err != nil {
		return err
	}
	uid := ownerOf(info)
	if !info.IsDir() || info.Mode().Perm() != 0o700 || uid != a.uid && uid != os.Geteuid() {
		return fmt.Errorf("%s belongs to somebody else", dir)
	}
	return a.own(dir)
}

// blockedAt returns the topmost folder on the way to dir that the account may
// not enter by its mode bits, or "".
func blockedAt(dir string, a account) string {
	if parent := filepath.Dir(dir); parent != dir {
		if blocked := blockedAt(parent, a); blocked != "" {
			return blocked
		}
	}
	if info, err := os.Stat(dir); err == nil && !a.mayEnter(info) {
		return dir
	}
	return ""
}

// freePort asks the kernel for a port that nobody listens on right now.
func freePort() (uint16, error) {
	listener, err := net.Listen("tcp4", "127.0.0.1:0")
	if err != nil {
		return 0, fmt.Errorf("looking for a free port: %w", err)
	}
	defer func() { _ = listener.Close() }()
	return uint16(listener.Addr().(*net.TCPAddr).Port), nil
}
