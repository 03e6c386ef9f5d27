//go:build unix

package localpg

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// fakePostgres makes a folder whose postgres only tells a version.
func fakePostgres(t *testing.T, dir, versionText string) string {
	t.Helper()
	script(t, filepath.Join(dir, "postgres"), fmt.Sprintf("echo 'postgres (PostgreSQL) %s'", versionText))
	script(t, filepath.Join(dir, "initdb"), "exit 1")
	return dir
}

func script(t *testing.T, path, body string) {
	t.Helper()
	err := os.MkdirAll(filepath.Dir(path), 0o755)
	if err := errors.Join(err, os.WriteFile(path, []byte("#!/bin/sh\n"+body+"\n"), 0o755)); err != nil {
		t.Fatal(err)
	}
}

func TestFind_ChoosesTheVersion(t *testing.T) {
	root := t.TempDir()
	for _, version := range []string{"9.6.24", "13.22", "15.9", "15.18 (Debian 15.18-0+deb12u1)", "18beta1"} {
		var number string
		fmt.Sscan(version, &number)
		fakePostgres(t, filepath.Join(root, "lib", number, "bin"), version)
	}
	f := finder{globs: []string{filepath.Join(root, "lib", "*", "bin"), filepath.Join(root, "none-*")}}
	for _, test := range []struct {
		name  string
		major int
		want  Binaries
	}{
		{"NewestOfAll", 0, Binaries{Version: "18beta1", Major: 18}},
		{"NewestOfTheMajor", 15, Binaries{Version: "15.18", Major: 15}},
		{"AnOldMajorForOldData", 13, Binaries{Version: "13.22", Major: 13}},
	} {
		t.Run(test.name, func(t *testing.T) {
			got, err := f.find(t.Context(), "", test.major)
			if err != nil {
				t.Fatalf("find() = %v", err)
			}
			test.want.Dir = filepath.Join(root, "lib", test.want.Version, "bin")
			if diff := cmp.Diff(test.want, got); diff != "" {
				t.Errorf("find() (-want +got)\n%s", diff)
			}
		})
	}
	t.Run("NoneOfTheMajor", func(t *testing.T) {
		_, err := f.find(t.Context(), "", 17)
		if !errors.Is(err, ErrNotFound) {
			t.Fatalf("find() = %v, want ErrNotFound", err)
		}
		wantText(t, err, "version 17, which the existing data needs", "PATH", f.globs[0], "has version 13.22")
	})
}

func TestFind_Order(t *testing.T) {
	in17 := []string{"17.9", "17.10", "17beta2", "17devel"}
	slices.SortFunc(in17, func(a, b string) int {
		return newer(Binaries{Version: a, Major: 17}, Binaries{Version: b, Major: 17})
	})
	if last := in17[3]; last != "17.10" {
		t.Errorf("the newest is %s, want 17.10", last)
	}
}

func TestFind_Places(t *testing.T) {
	root := t.TempDir()
	target := fakePostgres(t, filepath.Join(root, "opt", "bin"), "16.4")
	linked := filepath.Join(root, "linked")
	must(t, os.Mkdir(linked, 0o755))
	must(t, os.Symlink(filepath.Join(target, "postgres"), filepath.Join(linked, "postgres")))

	// A launcher of versions: both names are links to one program elsewhere.
	shims := filepath.Join(root, "shims")
	script(t, filepath.Join(root, "launcher", "launch"), "echo 'postgres (PostgreSQL) 14.1'")
	must(t, os.Mkdir(shims, 0o755))
	for _, name := range []string{"postgres", "initdb"} {
		must(t, os.Symlink(filepath.Join(root, "launcher", "launch"), filepath.Join(shims, name)))
	}
	config := filepath.Join(root, "config")
	script(t, filepath.Join(config, "pg_config"), "test \"$1\" = --bindir && echo "+target)

	for _, test := range []struct {
		name, path, binDir, want string
	}{
		{"BehindASymlinkInPATH", linked, "", target},
		{"BesideALauncherInPATH", shims, "", shims},
		{"WherePgConfigSays", config, "", target},
		{"Explicit", linked, shims, shims},
	} {
		t.Run(test.name, func(t *testing.T) {
			got, err := finder{path: test.path}.find(t.Context(), test.binDir, 0)
			if err != nil || got.Dir != test.want {
				t.Errorf("find() = %q, %v; want %q", got.Dir, err, test.want)
			}
		})
	}
}

func TestFind_Refuses(t *testing.T) {
	root := t.TempDir()
	half := filepath.Join(root, "half")
	script(t, filepath.Join(half, "postgres"), "exit 0")
	broken := fakePostgres(t, filepath.Join(root, "broken"), "16.1")
	script(t, filepath.Join(broken, "postgres"), "exit 127")
	strange := fakePostgres(t, filepath.Join(root, "strange"), "16.1")
	script(t, filepath.Join(strange, "postgres"), "echo a mouse")
	old := fakePostgres(t, filepath.Join(root, "old"), "13.1")
	for dir, want := range map[string]string{
		half: "has no initdb", broken: "does not run", strange: "a mouse", old: "has version 13.1",
		filepath.Join(root, "missing"): "has no postgres",
	} {
		t.Run(filepath.Base(dir), func(t *testing.T) {
			_, err := Find(t.Context(), dir, 0)
			wantText(t, err, want, dir)
			if !errors.Is(err, ErrNotFound) {
				t.Errorf("Find() = %v, want ErrNotFound", err)
			}
		})
	}
	t.Run("relative", func(t *testing.T) {
		_, err := Find(t.Context(), "bin", 0)
		wantText(t, err, "absolute path")
	})
}

func TestFind_ThisMachine(t *testing.T) {
	got, err := Find(context.Background(), "", 0)
	if err != nil || got.Major < oldestMajor {
		t.Errorf("Find() = %+v, %v", got, err)
	}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
