//go:build unix

package localpg

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"go.uber.org/goleak"
)

// helperEnv makes the test binary play another program, see TestMain.
const helperEnv = "LOCALPG_TEST_HELPER"

func TestMain(m *testing.M) {
	switch os.Getenv(helperEnv) {
	case "":
		goleak.VerifyTestMain(m, goleak.Cleanup(func(code int) {
			os.RemoveAll(templateParent)
			os.Exit(code)
		}))
	case "shop":
		helperShop()
	case "docker":
		os.Exit(fakeDocker(os.Args[1:]))
	}
}

// shopReport is what the helper says about its server.
type shopReport struct {
	PID int
	URL string
}

// helperShop is a shop that starts a server and can only be killed.
func helperShop() {
	s, err := Start(context.Background(), Options{
		Dir:       os.Getenv("LOCALPG_TEST_DIR"),
		Throwaway: os.Getenv("LOCALPG_TEST_DURABLE") == "",
	})
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	_ = json.NewEncoder(os.Stdout).Encode(shopReport{PID: s.PID(), URL: s.URL("postgres")})
	select {}
}

// otherShop runs helperShop in its own process, which the test ends if it
// has not ended by itself.
func otherShop(t *testing.T, dir string, change func(*exec.Cmd)) (*exec.Cmd, shopReport) {
	t.Helper()
	cmd := shopCommand(t, dir)
	change(cmd)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatalf("starting the other shop: %v", err)
	}
	t.Cleanup(func() { kill(cmd) })
	line, err := bufio.NewReader(out).ReadBytes('\n')
	if err != nil {
		t.Fatalf("the other shop did not start: %v", err)
	}
	var report shopReport
	if err := json.Unmarshal(line, &report); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		eventually(t, "the postgres of the other shop ends", func() bool { return !alive(report.PID) })
	})
	return cmd, report
}

func shopCommand(t *testing.T, dir string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), helperEnv+"=shop", "LOCALPG_TEST_DIR="+dir)
	cmd.Stderr = os.Stderr
	return cmd
}

func unchanged(*exec.Cmd) {}

// durable makes the other shop keep every commit, whatever happens to it.
func durable(cmd *exec.Cmd) { cmd.Env = append(cmd.Env, "LOCALPG_TEST_DURABLE=1") }

// kill ends a child by SIGKILL and reaps it.
func kill(cmd *exec.Cmd) {
	_ = cmd.Process.Kill()
	_ = cmd.Wait()
}

// shopDir returns a folder name for a cluster. t.TempDir can't be used as
// root: only root may enter it, so postgres may not.
func shopDir(t *testing.T) string {
	t.Helper()
	parent, err := os.MkdirTemp("", "localpg-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(parent) })
	if err := os.Chmod(parent, 0o711); err != nil {
		t.Fatal(err)
	}
	return filepath.Join(parent, "pg")
}

// templateParent is where template works; TestMain removes it.
var templateParent string

// template makes one cluster for all tests that only need to have one: a copy
// takes a tenth of the time of initdb.
var template = sync.OnceValues(func() (string, error) {
	parent, err := os.MkdirTemp("", "localpg-template-")
	if err != nil {
		return "", err
	}
	templateParent = parent
	dir := filepath.Join(parent, "pg")
	if err := os.Chmod(parent, 0o711); err != nil {
		return "", err
	}
	s, err := Start(context.Background(), Options{Dir: dir, Throwaway: true})
	if err != nil {
		return "", err
	}
	return dir, s.Stop(context.Background())
})

// madeDir returns a folder with a cluster that has been used and stopped.
func madeDir(t *testing.T) string {
	t.Helper()
	from, err := template()
	if err != nil {
		t.Fatalf("making the template: %v", err)
	}
	dir := shopDir(t)
	if out, err := exec.Command("cp", "-a", from, dir).CombinedOutput(); err != nil {
		t.Fatalf("copying the template: %v: %s", err, out)
	}
	return dir
}

// startShop starts a server that the test stops in any case.
func startShop(t *testing.T, o Options) *Server {
	t.Helper()
	s, err := Start(t.Context(), o)
	if err != nil {
		t.Fatalf("Start() = %v", err)
	}
	t.Cleanup(func() { stopShop(t, s) })
	return s
}

func stopShop(t *testing.T, s *Server) {
	t.Helper()
	if err := s.Stop(context.Background()); err != nil {
		t.Errorf("Stop() = %v", err)
	}
}

func connect(t *testing.T, url string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), url)
	if err != nil {
		t.Fatalf("connecting: %v", err)
	}
	t.Cleanup(func() { conn.Close(context.Background()) })
	return conn
}

// run executes statements on a connection of their own.
func run(t *testing.T, url, sql string) {
	t.Helper()
	conn := connect(t, url)
	defer conn.Close(t.Context())
	if _, err := conn.Exec(t.Context(), sql); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
}

// valueOf returns the one value of a query as text.
func valueOf(t *testing.T, url, sql string) string {
	t.Helper()
	conn := connect(t, url)
	defer conn.Close(t.Context())
	var value string
	if err := conn.QueryRow(t.Context(), sql).Scan(&value); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return value
}

// eventually polls with a deadline for what other processes do.
func eventually(t *testing.T, what string, holds func() bool) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	for !holds() {
		if pause(ctx, 10*time.Millisecond) != nil {
			t.Fatalf("not within 10 s: %s", what)
		}
	}
}

// alive tells if a process runs; a zombie, which its parent has not reaped
// yet, does not.
func alive(pid int) bool {
	if runtime.GOOS == "linux" {
		stat, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
		_, state, _ := strings.Cut(string(stat), ") ")
		return err == nil && !strings.HasPrefix(state, "Z")
	}
	return !errors.Is(syscall.Kill(pid, 0), syscall.ESRCH)
}

// wantText fails unless the error has all the parts.
func wantText(t *testing.T, err error, parts ...string) {
	t.Helper()
	if err == nil {
		t.Fatalf("error = nil, want one with %q", parts)
	}
	for _, part := range parts {
		if !strings.Contains(err.Error(), part) {
			t.Errorf("error = %q, want it to contain %q", err, part)
		}
	}
}

func linuxOnly(t *testing.T, why string) {
	t.Helper()
	if runtime.GOOS != "linux" {
		t.Skip(why)
	}
}

func rootOnly(t *testing.T) {
	t.Helper()
	if os.Geteuid() != 0 {
		t.Skip("what is tested happens to root only")
	}
}
