package suite

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// board gives this user an empty home, and where notices lie in it.
func board(t *testing.T) string {
	t.Helper()
	home := t.TempDir()
	t.Setenv("HOME", home)
	t.Setenv("XDG_CACHE_HOME", filepath.Join(home, "cache"))
	where, err := noticeDir()
	if err != nil {
		t.Fatal(err)
	}
	return where
}

func told(t *testing.T, dir string) *notice {
	t.Helper()
	n, err := tell(dir, map[string]string{"intake": "unix:" + dir})
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func TestFind_TheOnlyOneOrSay(t *testing.T) {
	where := board(t)
	if _, err := Find(""); err == nil || !strings.Contains(err.Error(), "no shop is running here") {
		t.Errorf("Find without a shop = %v", err)
	}
	one, two := t.TempDir(), t.TempDir()
	first := told(t, one)
	if got := perm(t, where); got != 0o700 {
		t.Errorf("the folder of notices has mode %o, want 700", got)
	}
	if n, err := Find(""); err != nil || n.Dir != one || n.Addresses["intake"] != "unix:"+one {
		t.Errorf("Find = %+v, %v, want the shop in %s", n, err, one)
	}
	second := told(t, two)
	if _, err := Find(""); err == nil || !strings.Contains(err.Error(), one) || !strings.Contains(err.Error(), two) {
		t.Errorf("Find among two = %v, want both named", err)
	}
	if n, err := Find(two); err != nil || n.Dir != two {
		t.Errorf("Find(%s) = %+v, %v", two, n, err)
	}
	second.withdraw()
	if n, err := Find(""); err != nil || n.Dir != one {
		t.Errorf("Find after one closed = %+v, %v", n, err)
	}
	first.withdraw()
	if _, err := Find(one); err == nil {
		t.Error("a shop that has closed is found")
	}
}

// A shop that was killed leaves its notice; nobody is sent to it.
func TestFind_NotTheDead(t *testing.T) {
	where := board(t)
	if err := os.MkdirAll(where, 0o700); err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(Notice{PID: 1 << 30, Dir: "/nowhere"})
	if err != nil {
		t.Fatal(err)
	}
	for name, content := range map[string][]byte{"dead.json": b, "half.json": b[:5]} {
		if err := os.WriteFile(filepath.Join(where, name), content, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if n, err := Find(""); err == nil {
		t.Errorf("Find = %+v", n)
	}
}

// A folder in which another user could have put a notice is neither read nor written.
func TestNotice_TrustsNobodyElsesFolder(t *testing.T) {
	for name, spoil := range map[string]func(where string) error{
		"written by all":      func(where string) error { return os.Chmod(where, 0o777) },
		"in one of all":       func(where string) error { return os.Chmod(filepath.Dir(where), 0o777) },
		"of a group":          func(where string) error { return os.Chmod(where, 0o770) },
		"elsewhere":           func(where string) error { return move(where) },
		"another's":           func(where string) error { return give(where) },
		"in one of another's": func(where string) error { return give(filepath.Dir(where)) },
	} {
		t.Run(name, func(t *testing.T) {
			where := board(t)
			told(t, t.TempDir()).withdraw()
			if err := spoil(where); err != nil {
				t.Fatal(err)
			}
			dir := t.TempDir()
			if n := told(t, dir); len(n.files) != 1 {
				t.Errorf("a notice is written there: %v", n.files)
			}
			if n, err := Find(""); err == nil || !strings.Contains(err.Error(), "say which shop with --shop DIR") {
				t.Errorf("Find = %+v, %v", n, err)
			}
			if n, err := Find(dir); err != nil || n.Dir != dir {
				t.Errorf("Find(%s) = %+v, %v", dir, n, err)
			}
		})
	}
}

// move puts a folder elsewhere and a link in its place.
func move(dir string) error {
	if err := os.Rename(dir, dir+"-moved"); err != nil {
		return err
	}
	return os.Symlink(dir+"-moved", dir)
}

// give makes a folder another user's; only root can, and for others it is made writable
// for all, which is refused for the same reason.
func give(dir string) error {
	if os.Geteuid() != 0 {
		return os.Chmod(dir, 0o777)
	}
	return os.Chown(dir, 65534, 65534)
}

// A user without a home has no folder for notices: the shop runs, and is found by its folder.
func TestNotice_WithoutAHome(t *testing.T) {
	t.Setenv("XDG_CACHE_HOME", "")
	t.Setenv("HOME", "")
	dir := t.TempDir()
	n := told(t, dir)
	defer n.withdraw()
	if found, err := Find(dir); err != nil || found.Dir != dir {
		t.Errorf("Find(%s) = %+v, %v", dir, found, err)
	}
	if _, err := Find(""); err == nil || !strings.Contains(err.Error(), "--shop DIR") {
		t.Errorf("Find = %v, want one that asks for --shop", err)
	}
}
