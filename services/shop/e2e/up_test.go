package e2e_test

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"tackfree/services/shop/internal/cli"
	"tackfree/services/shop/internal/suite"
)

// shopFolder makes a folder that a database may live in, also when it runs as another user.
func shopFolder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "tackfree-up-")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(dir, 0o711); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	return dir
}

// up runs `shop up` in a process of its own, with a private database, until it is open.
func up(t *testing.T, dir string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self, "up", "--data", dir, "--zone", "America/Chicago")
	cmd.Env = append(os.Environ(), asShop+"=1", "DATABASE_URL=")
	var out bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &out
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
	deadline := time.Now().Add(30 * time.Second)
	for {
		if n, err := suite.Find(dir); err == nil && n.PID == cmd.Process.Pid {
			return cmd
		}
		if time.Now().After(deadline) {
			t.Fatalf("the shop does not open: %s", out.String())
		}
		time.Sleep(20 * time.Millisecond) // polling another process
	}
}

// shop runs a client command against the shop in dir and returns what it prints.
func shop(t *testing.T, dir string, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	args = append([]string{"--shop", dir, "--as", "Odile"}, args...)
	if code := cli.Run(t.Context(), args, &out, &errs); code != 0 {
		t.Fatalf("shop %s exits %d: %s", strings.Join(args, " "), code, errs.String())
	}
	return out.String()
}

// databasePID reads who runs the shop's private database.
func databasePID(t *testing.T, dir string) int {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dir, "postgres", "data", "postmaster.pid"))
	if err != nil {
		t.Fatal(err)
	}
	pid, err := strconv.Atoi(strings.SplitN(string(b), "\n", 2)[0])
	if err != nil {
		t.Fatal(err)
	}
	return pid
}

// ended reports whether a process is gone, or only waits to be collected.
func ended(pid int) bool {
	b, err := os.ReadFile("/proc/" + strconv.Itoa(pid) + "/stat")
	if err != nil {
		return syscall.Kill(pid, 0) != nil
	}
	fields := strings.Fields(string(b[bytes.LastIndexByte(b, ')')+1:]))
	return fields[0] == "Z"
}

// Ctrl-C closes everything within five seconds, also under a client that watches, and
// leaves no process behind; the shop opens again with all it had.
func TestUp_CtrlC(t *testing.T) {
	dir := shopFolder(t)
	cmd := up(t, dir)
	database := databasePID(t, dir)
	shop(t, dir, "piece", "take-in", "Stool", "--kind", "stool", "--price", "12.50", "--source", "kerb", "--part", "seat")
	eventually(t, "the piece in the books", func() bool { return strings.Contains(shop(t, dir, "cost", "list"), "Stool") })
	watcher := watchInBackground(t, dir)

	began := time.Now()
	if err := cmd.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	if err := cmd.Wait(); err != nil {
		t.Errorf("shop up ends with %v", err)
	}
	if took := time.Since(began); took > 5*time.Second {
		t.Errorf("closing took %v", took)
	}
	eventually(t, "the database gone", func() bool { return ended(database) })
	<-watcher

	up(t, dir)
	if got := shop(t, dir, "piece", "list"); !strings.Contains(got, "Stool") {
		t.Errorf("after opening again the pieces are:\n%s", got)
	}
	shop(t, dir, "verify")
}

func watchInBackground(t *testing.T, dir string) <-chan struct{} {
	t.Helper()
	done := make(chan struct{})
	go func() {
		defer close(done)
		var out bytes.Buffer
		cli.Run(t.Context(), []string{"--shop", dir, "cost", "watch", "1"}, &out, &out)
	}()
	return done
}

// A killed shop takes its database with it, and the next one has every answered command.
func TestUp_Killed(t *testing.T) {
	dir := shopFolder(t)
	cmd := up(t, dir)
	database := databasePID(t, dir)
	shop(t, dir, "piece", "take-in", "Stool", "--kind", "stool", "--price", "12.50", "--source", "kerb", "--part", "seat")
	_ = cmd.Process.Kill()
	_ = cmd.Wait()
	eventually(t, "the database gone", func() bool { return ended(database) })
	up(t, dir)
	if got := shop(t, dir, "piece", "list"); !strings.Contains(got, "Stool") {
		t.Errorf("after the kill the pieces are:\n%s", got)
	}
	shop(t, dir, "verify")
}
