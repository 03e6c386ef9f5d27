//go:build unix

package localpg

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

const (
	fakeStateEnv = "LOCALPG_TEST_DOCKER"
	realPathEnv  = "LOCALPG_TEST_PATH"
)

// fakeDocker plays the docker command line, with a real Postgres behind it:
// what an engine keeps lies in a folder, a container is a private server.
func fakeDocker(args []string) int {
	state := os.Getenv(fakeStateEnv)
	at := func(name string) string { return filepath.Join(state, name) }
	note(at("calls"), strings.Join(args, " "))
	exists := func(name string) int {
		if _, err := os.Stat(at(name)); err != nil {
			return 1
		}
		return 0
	}
	switch strings.Join(args[:min(2, len(args))], " ") {
	case "version --format":
		fmt.Println("28.2.2")
	case "image inspect":
		return exists("image")
	case "pull --quiet":
		note(at("image"), "")
	case "container inspect":
		return exists("running")
	case "stop --time", "rm --force":
		os.Remove(at("running"))
	case "run --rm":
		return fakeContainer(args, state)
	default: // port
		text, err := os.ReadFile(at("running"))
		if err != nil {
			return 1
		}
		fmt.Printf("127.0.0.1:%s\n", text)
	}
	return 0
}

func note(path, line string) {
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_APPEND|os.O_CREATE, 0o600)
	if err == nil {
		fmt.Fprintln(file, line)
		file.Close()
	}
}

// fakeContainer runs until a signal, as an attached docker client does.
func fakeContainer(args []string, state string) int {
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGINT)
	defer stop()
	os.Setenv("PATH", os.Getenv(realPathEnv))
	volume := args[slices.Index(args, "-v")+1]
	data, _, _ := strings.Cut(volume, ":")
	_ = os.MkdirAll(data, 0o700)
	note(filepath.Join(data, "PG_VERSION"), "17")

	dir := filepath.Join(state, "pg")
	fresh := os.WriteFile(filepath.Join(dir, "password"), []byte(os.Getenv("POSTGRES_PASSWORD")), 0o600)
	s, err := Start(ctx, Options{Dir: dir, Throwaway: true, TCP: true})
	if err := errors.Join(fresh, err); err != nil {
		fmt.Fprintln(os.Stderr, "FATAL:", err)
		return 1
	}
	_, port := s.HostPort()
	_ = os.WriteFile(filepath.Join(state, "running"), fmt.Append(nil, port), 0o600)
	<-ctx.Done()
	os.Remove(filepath.Join(state, "running"))
	if s.Stop(ctx) != nil {
		return 1
	}
	return 0
}

// engine is a barren machine with the fake docker. calls returns what it was
// asked so far.
func engine(t *testing.T) (l ladder, calls func() string, state string) {
	t.Helper()
	self, err := os.Executable()
	must(t, err)
	realPath := os.Getenv("PATH")
	l, bin := barren(t)
	state = shopDir(t)
	must(t, os.MkdirAll(filepath.Join(state, "pg"), 0o711))
	must(t, os.Chmod(state, 0o711))
	t.Setenv(fakeStateEnv, state)
	t.Setenv(realPathEnv, realPath)
	script(t, filepath.Join(bin, "docker"), "GORACE=atexit_sleep_ms=0 "+helperEnv+`=docker exec `+self+` "$@"`)
	return l, func() string {
		text, _ := os.ReadFile(filepath.Join(state, "calls"))
		return string(text)
	}, state
}

func TestResolve_Docker(t *testing.T) {
	l, calls, state := engine(t)
	dir := shopDir(t)
	var said []string
	o := Options{Dir: dir, Throwaway: true, Progress: func(line string) { said = append(said, line) }}
	s, err := l.resolve(t.Context(), Ways{Options: o})
	if err != nil {
		t.Fatalf("resolve() = %v", err)
	}
	t.Cleanup(func() { s.Stop(context.Background()) })

	t.Run("Serves", func(t *testing.T) {
		run(t, s.URL("postgres"), "create table kept as select 'stool' as piece")
		host, port := s.HostPort()
		if host != "127.0.0.1" || !strings.Contains(s.URL("x"), fmt.Sprintf("@127.0.0.1:%d/x?", port)) {
			t.Errorf("HostPort() = %s, %d; URL() = %s", host, port, s.URL("x"))
		}
		if got := valueOf(t, s.URL("postgres"), "show server_version"); !strings.HasPrefix(got, s.Version()) || s.Version() == "" {
			t.Errorf("Version() = %q, server says %q", s.Version(), got)
		}
	})
	t.Run("PullsOnceAndTells", func(t *testing.T) {
		if text := strings.Join(said, "\n"); !strings.Contains(text, "docker pull "+defaultImage) || strings.Count(calls(), "pull") != 1 {
			t.Errorf("Progress said %q; calls:\n%s", text, calls())
		}
	})
	t.Run("KeepsThePasswordOutOfArguments", func(t *testing.T) {
		if strings.Contains(calls(), s.Password()) {
			t.Errorf("calls hold the password:\n%s", calls())
		}
	})
	t.Run("RefusesASecondCopy", func(t *testing.T) {
		_, err := l.resolve(t.Context(), Ways{Options: o})
		wantText(t, err, "in use by process")
	})
	t.Run("StopsByTheClient", func(t *testing.T) {
		stopShop(t, s)
		if _, err := os.Stat(filepath.Join(state, "running")); err == nil {
			t.Error("the container still runs")
		}
	})
	t.Run("DataStaysWithDocker", func(t *testing.T) {
		_, err := Start(t.Context(), o)
		wantText(t, err, "container of "+defaultImage, "start Docker")
		l.finder = systemFinder() // would be used for new data
		again, err := l.resolve(t.Context(), Ways{Options: o})
		if err != nil {
			t.Fatalf("resolve() = %v", err)
		}
		defer stopShop(t, again)
		if got := valueOf(t, again.URL("postgres"), "select piece from kept"); got != "stool" {
			t.Errorf("piece = %q", got)
		}
	})
	t.Run("WithoutTheEngine", func(t *testing.T) {
		t.Setenv("PATH", t.TempDir())
		_, err := l.resolve(t.Context(), Ways{Options: o})
		wantText(t, err, "was made in a container of "+defaultImage, "no docker command", "start Docker")
	})
}

func TestResolve_DockerFails(t *testing.T) {
	l, calls, state := engine(t)
	must(t, os.RemoveAll(filepath.Join(state, "pg"))) // the fake can't keep its password
	note(filepath.Join(state, "image"), "")
	note(filepath.Join(state, "running"), "1")
	dir := shopDir(t)
	_, err := l.resolve(t.Context(), Ways{Options: Options{Dir: dir}, Image: "postgres:16"})
	wantText(t, err, "container ended before it was ready", "exit status 1", "FATAL:")
	if !strings.Contains(calls(), "\nstop --time 15 tackfree-") {
		t.Errorf("the old container was not stopped; calls:\n%s", calls())
	}
	if strings.Contains(calls(), "pull") {
		t.Errorf("an image that is there was pulled; calls:\n%s", calls())
	}
}

func TestFindDocker_SaysWhyNot(t *testing.T) {
	for _, test := range []struct{ name, host, script, want string }{
		{"NoEngine", "", "echo Cannot connect to the daemon >&2; exit 1", "Cannot connect to the daemon"},
		{"OtherMachine", "ssh://nas", "exit 0", "DOCKER_HOST=ssh://nas is another machine"},
		{"Hangs", "", "exec /bin/sleep 30", "no answer within 2 s"},
	} {
		t.Run(test.name, func(t *testing.T) {
			_, bin := barren(t)
			t.Setenv("DOCKER_HOST", test.host)
			script(t, filepath.Join(bin, "docker"), test.script)
			begin := time.Now()
			_, err := findDocker(t.Context())
			wantText(t, err, test.want)
			if took := time.Since(begin); took > 4*time.Second {
				t.Errorf("findDocker() took %v", took)
			}
		})
	}
}

func TestContainer_RunArgs(t *testing.T) {
	k := container{
		name: "tackfree-1", image: "postgres:17-alpine", data: "/var/shop/data",
		settings: map[string]string{"max_connections": "60", "fsync": "off"}, throwaway: true,
	}
	want := strings.Fields(`run --rm --name tackfree-1 --stop-signal SIGINT --stop-timeout 15 --shm-size 128m
		-p 127.0.0.1::5432 -v /var/shop/data:/tackfree -e POSTGRES_PASSWORD -e POSTGRES_USER=postgres -e PGDATA=/tackfree
		-e POSTGRES_INITDB_ARGS=--locale=C_--encoding=UTF8_--auth-local=scram-sha-256_--no-sync -e TZ=UTC -e LC_ALL=C
		postgres:17-alpine postgres -c fsync=off -c max_connections=60`)
	for i := range want {
		want[i] = strings.ReplaceAll(want[i], "_--", " --")
	}
	if diff := cmp.Diff(want, k.runArgs()); diff != "" {
		t.Errorf("runArgs() (-want +got)\n%s", diff)
	}
	// The installed client, if any, must know every option. It reads them all
	// before it looks for an engine.
	program, err := exec.LookPath("docker")
	if err != nil {
		t.Skip("no docker client to ask")
	}
	cmd := exec.Command(program, append([]string{"--host", "unix:///nonexistent.sock"}, k.runArgs()...)...)
	if out, _ := cmd.CombinedOutput(); strings.Contains(string(out), "unknown") || strings.Contains(string(out), "invalid") {
		t.Errorf("docker says: %s", out)
	}
}
