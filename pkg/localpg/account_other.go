//go:build !unix

package localpg

import (
	"errors"
	"io/fs"
	"syscall"
)

// account is the user that postgres runs as; always ourselves on this system.
type account struct {
	name     string
	uid, gid int
	switched bool
}

// errUnsupported says what is left where there are no unix sockets, signals
// and file locks that end with their holder.
var errUnsupported = errors.New("a private Postgres can't be run on this system; set DATABASE_URL to an existing one")

func chooseAccount(string) (account, error) { return account{}, errUnsupported }

func (account) attributes() *syscall.SysProcAttr { return nil }

func (account) own(string) error { return nil }

func (account) mayEnter(fs.FileInfo) bool { return true }

func killGroup(p *process) { p.signal(syscall.SIGKILL) }

func ownerOf(fs.FileInfo) int { return 0 }
