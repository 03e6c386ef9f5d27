//go:build unix

package localpg

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// One cold start with everything synced to disk, then what a cluster has to be
// able to do after it; the parts share it, as each start costs a second.
func TestStart_Durable(t *testing.T) {
	dir := shopDir(t)
	var said []string
	o := Options{Dir: dir, Progress: func(line string) { said = append(said, line) }}
	begin := time.Now()
	s := startShop(t, o)
	t.Logf("cold start: %v", time.Since(begin))

	t.Run("Serves", func(t *testing.T) {
		if got := valueOf(t, s.URL("postgres"), "show server_version"); !strings.HasPrefix(got, s.Version()) {
			t.Errorf("server_version = %q, Version() = %q", got, s.Version())
		}
		if host, port := s.HostPort(); host != filepath.Join(realPath(dir), "run") || port != 5432 {
			t.Errorf("HostPort() = %s, %d", host, port)
		}
	})
	t.Run("IsSafeAndTheSameEverywhere", func(t *testing.T) {
		for sql, want := range map[string]string{
			"show fsync": "on", "show data_checksums": "on", "show server_encoding": "UTF8",
			"show lc_collate": "C", "show timezone": "Etc/UTC", "show listen_addresses": "",
			"show max_connections": "60", "show shared_buffers": "32MB",
		} {
			if sql == "show lc_collate" { // gone as a setting since 16
				sql = "select datcollate::text from pg_database where datname = 'postgres'"
			}
			if got := valueOf(t, s.URL("postgres"), sql); got != want && got != strings.TrimPrefix(want, "Etc/") {
				t.Errorf("%s = %q, want %q", sql, got, want)
			}
		}
	})
	t.Run("IsOutOfReachOfCtrlC", func(t *testing.T) {
		if group, err := syscall.Getpgid(s.PID()); err != nil || group != s.PID() {
			t.Errorf("process group = %d, %v; want its own, %d", group, err, s.PID())
		}
	})
	t.Run("RefusesAWrongPassword", func(t *testing.T) {
		other := &Server{password: "wrong", socket: s.socket, port: s.port}
		conn, err := pgx.Connect(t.Context(), other.URL("postgres"))
		if err == nil {
			conn.Close(t.Context())
			t.Error("a wrong password was let in")
		}
	})
	t.Run("KeepsSecretsPrivate", func(t *testing.T) {
		for name, want := range map[string]fs.FileMode{"password": 0o600, "lock": 0o600, "data": 0o700, "run": 0o700, "log": 0o700} {
			info, err := os.Stat(filepath.Join(dir, name))
			if err != nil || info.Mode().Perm() != want {
				t.Errorf("%s: mode %v (%v), want %v", name, info.Mode().Perm(), err, want)
			}
		}
	})
	t.Run("RefusesASecondCopy", func(t *testing.T) {
		begin := time.Now()
		_, err := Start(t.Context(), o)
		wantText(t, err, "in use by process "+strconv.Itoa(os.Getpid()), dir)
		if took := time.Since(begin); took > 2*time.Second {
			t.Errorf("the refusal took %v", took)
		}
	})
	t.Run("WarmKeepsData", func(t *testing.T) {
		run(t, s.URL("postgres"), "create table kept as select 'chair' as piece")
		stopShop(t, s)
		begin := time.Now()
		again := startShop(t, o)
		t.Logf("warm start: %v", time.Since(begin))
		if got := valueOf(t, again.URL("postgres"), "select piece from kept"); got != "chair" {
			t.Errorf("piece = %q", got)
		}
		if len(said) != 1 {
			t.Errorf("Progress said %q, want only the creation", said)
		}
	})
}

func TestStart_TwoFoldersAtOnce(t *testing.T) {
	var group sync.WaitGroup
	servers := make([]*Server, 2)
	for i := range servers {
		dir := madeDir(t)
		group.Go(func() {
			s, err := Start(t.Context(), Options{Dir: dir, Throwaway: true, TCP: true})
			if err != nil {
				t.Errorf("Start() = %v", err)
				return
			}
			servers[i] = s
		})
	}
	group.Wait()
	for _, s := range servers {
		if s == nil {
			continue
		}
		defer stopShop(t, s)
		host, port := s.HostPort()
		byTCP := &Server{password: s.password, tcp: true, port: port}
		if got := valueOf(t, byTCP.URL("postgres"), "select inet_server_port()::text"); host != "127.0.0.1" || got != strconv.Itoa(int(port)) {
			t.Errorf("HostPort() = %s, %d; the server says %s", host, port, got)
		}
		if got := valueOf(t, s.URL("postgres"), "select coalesce(inet_server_port()::text, 'socket')"); got != "socket" {
			t.Errorf("URL() leads to port %s, want the socket", got)
		}
		if got := valueOf(t, s.URL("postgres"), "show fsync"); got != "off" {
			t.Errorf("fsync of a throwaway = %s", got)
		}
	}
}

func TestStart_AsRootRunsAsAnotherUser(t *testing.T) {
	rootOnly(t)
	s := startShop(t, Options{Dir: filepath.Join(shopDir(t), "deep", "below"), Throwaway: true})
	info, err := os.Stat("/proc/" + strconv.Itoa(s.PID()))
	if err != nil {
		t.Skip("no /proc")
	}
	if uid := ownerOf(info); uid == 0 {
		t.Error("postgres runs as root")
	}
}

func TestStart_AsNormalUser(t *testing.T) {
	rootOnly(t) // who else may become somebody else
	dir := shopDir(t)
	copied := filepath.Join(filepath.Dir(dir), "shop")
	self, err := os.ReadFile("/proc/self/exe")
	if err := errors.Join(err, os.WriteFile(copied, self, 0o755), os.Mkdir(dir, 0o700), os.Chown(dir, 65534, 65534)); err != nil {
		t.Fatal(err)
	}
	shop, report := otherShop(t, dir, func(cmd *exec.Cmd) {
		cmd.Path, cmd.Dir = copied, "/"
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
	})
	if got := valueOf(t, report.URL, "select current_user::text"); got != superuser {
		t.Errorf("current_user = %s", got)
	}
	t.Run("ThenAsRootKeepsTheOwner", func(t *testing.T) {
		kill(shop)
		startShop(t, Options{Dir: dir, Throwaway: true})
		for _, name := range []string{"data", "lock", "password", "log/postgres.log"} {
			info, err := os.Stat(filepath.Join(dir, name))
			if err != nil || ownerOf(info) != 65534 {
				t.Errorf("%s belongs to uid %d (%v), want 65534", name, ownerOf(info), err)
			}
		}
	})
}

func TestStart_AsRootNamesTheClosedFolder(t *testing.T) {
	rootOnly(t)
	closed := filepath.Join(shopDir(t), "closed")
	if err := os.MkdirAll(closed, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(filepath.Dir(closed), 0o755); err != nil {
		t.Fatal(err)
	}
	_, err := Start(t.Context(), Options{Dir: filepath.Join(closed, "a", "pg")})
	wantText(t, err, "may not enter "+closed+" ", "chmod a+x "+closed)
}

func TestStart_LongPath(t *testing.T) {
	dir := filepath.Join(shopDir(t), strings.Repeat("shop/", 10), strings.Repeat("x", 80))
	must(t, os.MkdirAll(filepath.Dir(dir), 0o711))
	must(t, os.Rename(madeDir(t), dir))
	s := startShop(t, Options{Dir: dir, Throwaway: true})
	host, _ := s.HostPort()
	if len(host) > 60 {
		t.Errorf("socket folder = %s, want a short one", host)
	}
	if got := valueOf(t, s.URL("postgres"), "select 'ok'"); got != "ok" {
		t.Errorf("select = %s", got)
	}
	stopShop(t, s)
	if _, err := os.Stat(host); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("the short folder is left: %v", err)
	}
}

func TestStart_FailsEarly(t *testing.T) {
	dir := madeDir(t)
	t.Run("BadSettingGivesTheReason", func(t *testing.T) {
		_, err := Start(t.Context(), Options{Dir: dir, Throwaway: true, Settings: map[string]string{"shared_buffers": "plenty"}})
		wantText(t, err, "ended before it was ready", "invalid value", "shared_buffers", "plenty")
	})
	t.Run("ReservedSetting", func(t *testing.T) {
		_, err := Start(t.Context(), Options{Dir: dir, Throwaway: true, Settings: map[string]string{"Listen-Addresses": "*"}})
		wantText(t, err, "listen_addresses", "Options.TCP")
	})
	t.Run("CancelledWhileWaiting", func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		o := Options{Dir: shopDir(t), Throwaway: true, Progress: func(string) { cancel() }}
		if _, err := Start(ctx, o); !errors.Is(err, context.Canceled) {
			t.Errorf("Start() = %v, want context.Canceled", err)
		}
	})
	t.Run("NoPasswordFile", func(t *testing.T) {
		if err := os.Remove(filepath.Join(dir, "password")); err != nil {
			t.Fatal(err)
		}
		_, err := Start(t.Context(), Options{Dir: dir})
		wantText(t, err, "password file", "put it back")
	})
	t.Run("SomebodyElsesFiles", func(t *testing.T) {
		other := shopDir(t)
		if err := os.MkdirAll(filepath.Join(other, "data", "photos"), 0o755); err != nil {
			t.Fatal(err)
		}
		_, err := Start(t.Context(), Options{Dir: other})
		wantText(t, err, "is no Postgres cluster")
	})
	t.Run("VersionOfTheDataIsNotThere", func(t *testing.T) {
		if err := os.WriteFile(filepath.Join(dir, "data", "PG_VERSION"), []byte("9\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := Start(t.Context(), Options{Dir: dir})
		wantText(t, err, "version 9, which the existing data needs")
		if !errors.Is(err, ErrNotFound) {
			t.Errorf("Start() = %v, want ErrNotFound", err)
		}
	})
	t.Run("FreesTheFolder", func(t *testing.T) {
		at, _ := newLayout(dir)
		lock, err := acquireLock(at.lock, account{})
		if err != nil {
			t.Fatal(err)
		}
		lock.Close()
		if running, err := at.tenants(); err != nil || len(running) != 0 {
			t.Errorf("tenants() = %v, %v", running, err)
		}
	})
}

func TestInitdbArgs_SameOnEveryMachine(t *testing.T) {
	for _, test := range []struct {
		name      string
		major     int
		throwaway bool
		want      []string
	}{
		{"Safe", 15, false, []string{"--data-checksums"}},
		{"Throwaway", 15, true, []string{"--no-sync"}},
		{"ThrowawaySince18", 18, true, []string{"--no-sync", "--no-data-checksums"}},
	} {
		t.Run(test.name, func(t *testing.T) {
			args := initdbArgs("/d", "/p", test.major, test.throwaway)
			if i := slices.Index(args, "--no-instructions"); !slices.Equal(args[i+1:], test.want) {
				t.Errorf("initdbArgs() ends with %q, want %q", args[i+1:], test.want)
			}
		})
	}
}
