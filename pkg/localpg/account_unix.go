//go:build unix

package localpg

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/user"
	"slices"
	"strconv"
	"syscall"
)

// account is the user that postgres and initdb run as.
type account struct {
	name     string
	uid, gid int
	groups   []uint32
	switched bool // it is not the user that we run as
}

// chooseAccount returns ourselves, unless we are root. As root it prefers the
// owner of an existing cluster, so that a shop once run under sudo still opens
// its data afterwards, and does not change it when a user postgres appears.
func chooseAccount(data string) (account, error) {
	if os.Geteuid() != 0 {
		return account{name: "uid " + strconv.Itoa(os.Geteuid()), uid: os.Geteuid(), gid: os.Getegid()}, nil
	}
	if info, err := os.Lstat(data); err == nil && ownerOf(info) != 0 {
		return accountOfOwner(info), nil
	}
	for _, name := range []string{"postgres", "nobody"} {
		if u, err := user.Lookup(name); err == nil {
			return accountOfUser(u)
		}
	}
	return account{}, errors.New("as root there must be another user to run Postgres as, but this system has neither postgres nor nobody; run the shop as a normal user or add one with: useradd --system postgres")
}

// accountOfOwner also works for an owner that has no name on this system, such
// as the postgres of a container image.
func accountOfOwner(info fs.FileInfo) account {
	stat := info.Sys().(*syscall.Stat_t)
	if u, err := user.LookupId(strconv.Itoa(int(stat.Uid))); err == nil {
		if a, err := accountOfUser(u); err == nil {
			return a
		}
	}
	return account{name: fmt.Sprintf("uid %d", stat.Uid), uid: int(stat.Uid), gid: int(stat.Gid), switched: true}
}

func accountOfUser(u *user.User) (account, error) {
	uid, uidErr := strconv.Atoi(u.Uid)
	gid, gidErr := strconv.Atoi(u.Gid)
	if err := errors.Join(uidErr, gidErr); err != nil {
		return account{}, fmt.Errorf("looking up user %s: %w", u.Username, err)
	}
	a := account{name: u.Username, uid: uid, gid: gid, switched: true}
	ids, _ := u.GroupIds() // the extra groups are a convenience, such as ssl-cert
	for _, id := range ids {
		if n, err := strconv.ParseUint(id, 10, 32); err == nil {
			a.groups = append(a.groups, uint32(n))
		}
	}
	return a, nil
}

// attributes makes a child run as the account and in its own process group:
// else Ctrl-C reaches postgres before the shop has drained.
func (a account) attributes() *syscall.SysProcAttr {
	attr := &syscall.SysProcAttr{Setpgid: true}
	if a.switched {
		attr.Credential = &syscall.Credential{Uid: uint32(a.uid), Gid: uint32(a.gid), Groups: a.groups}
	}
	return attr
}

// own gives a file to the account if that is not us.
func (a account) own(path string) error {
	if !a.switched {
		return nil
	}
	if err := os.Lchown(path, a.uid, a.gid); err != nil {
		return fmt.Errorf("giving a cluster file to user %s: %w", a.name, err)
	}
	return nil
}

// mayEnter tells if the account can pass through a folder by its mode bits.
func (a account) mayEnter(info fs.FileInfo) bool {
	stat, ok := info.Sys().(*syscall.Stat_t)
	if !ok || !a.switched {
		return true
	}
	mode := info.Mode().Perm()
	switch {
	case int(stat.Uid) == a.uid:
		return mode&0o100 != 0
	case int(stat.Gid) == a.gid || slices.Contains(a.groups, stat.Gid):
		return mode&0o010 != 0
	default:
		return mode&0o001 != 0
	}
}

// killGroup ends a child at once, together with what it started.
func killGroup(p *process) { _ = syscall.Kill(-p.pid, syscall.SIGKILL) }

// ownerOf returns the uid that a file belongs to.
func ownerOf(info fs.FileInfo) int { return int(info.Sys().(*syscall.Stat_t).Uid) }
