//go:build unix

package localpg

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"
)

func TestStart_EndsWithAKilledShop(t *testing.T) {
	linuxOnly(t, "only Linux tells children that their parent was killed")
	dir := madeDir(t)
	shop, report := otherShop(t, dir, unchanged)
	run(t, report.URL, "create table kept as select 'table' as piece")

	t.Run("SecondProcessIsRefused", func(t *testing.T) {
		_, err := Start(t.Context(), Options{Dir: dir})
		wantText(t, err, "in use by process "+joinPIDs([]int{shop.Process.Pid}))
	})
	t.Run("PostgresEnds", func(t *testing.T) {
		begin := time.Now()
		kill(shop)
		eventually(t, "postgres ends after its shop was killed", func() bool { return !alive(report.PID) })
		t.Logf("gone after %v", time.Since(begin))
	})
	t.Run("NextStartHasTheData", func(t *testing.T) {
		s := startShop(t, Options{Dir: dir, Throwaway: true})
		if got := valueOf(t, s.URL("postgres"), "select piece from kept"); got != "table" {
			t.Errorf("piece = %q", got)
		}
	})
}

func TestStart_RecoversAfterAllWasKilled(t *testing.T) {
	dir := madeDir(t)
	shop, report := otherShop(t, dir, durable)
	run(t, report.URL, "create table kept as select 'bench' as piece")
	// A transaction that is open at the kill, and a client that holds on to its backend.
	busy := connect(t, report.URL)
	if _, err := busy.Exec(t.Context(), "begin; insert into kept values ('never committed')"); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(syscall.Kill(report.PID, syscall.SIGKILL), shop.Process.Kill()); err != nil {
		t.Fatal(err)
	}
	_ = shop.Wait()

	begin := time.Now()
	s := startShop(t, Options{Dir: dir, Throwaway: true})
	t.Logf("start after the kill: %v", time.Since(begin))
	if got := valueOf(t, s.URL("postgres"), "select string_agg(piece, ', ') from kept"); got != "bench" {
		t.Errorf("pieces = %q, want only the committed one", got)
	}
}

// orphan runs a postgres that no death signal reaches, as after a kill on a
// system that has none.
func orphan(t *testing.T, dir string) (*exec.Cmd, *cluster) {
	t.Helper()
	c, err := open(t.Context(), Options{Dir: dir, Throwaway: true}, systemFinder())
	if err != nil {
		t.Fatal(err)
	}
	defer c.lock.Close()
	defer c.log.close()
	e, err := newEndpoint(c.at, c.account, false)
	if err != nil {
		t.Fatal(err)
	}
	all := e.settings()
	all["cluster_name"] = c.at.name()
	cmd := c.command("postgres", append([]string{"-D", c.at.data}, flags(all)...)...)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { kill(cmd) })
	eventually(t, "the orphan is ready", func() bool {
		m, err := readPostmaster(c.at.data)
		return err == nil && m.ready && m.pid == cmd.Process.Pid
	})
	return cmd, c
}

func TestStart_StopsAnOrphan(t *testing.T) {
	linuxOnly(t, "elsewhere ps is all there is to look with")
	dir := madeDir(t)
	old, c := orphan(t, dir)

	t.Run("BothWaysToLookSeeIt", func(t *testing.T) {
		byProc, err := c.at.tenantsFromProc()
		if err != nil || !slices.Contains(byProc, old.Process.Pid) || len(byProc) < 4 {
			t.Errorf("tenantsFromProc() = %v, %v; want %d and its children", byProc, err, old.Process.Pid)
		}
		if _, err := exec.LookPath("ps"); err != nil {
			t.Skip("this machine has no ps; it is asked only where there is no /proc")
		}
		eventually(t, "ps sees the same processes", func() bool {
			byPS, err := c.at.tenantsFromPS()
			slices.Sort(byProc)
			slices.Sort(byPS)
			return err == nil && slices.Equal(byPS, byProc)
		})
	})
	t.Run("AndServesInItsPlace", func(t *testing.T) {
		var said []string
		s := startShop(t, Options{Dir: dir, Throwaway: true, Progress: func(line string) { said = append(said, line) }})
		if alive(old.Process.Pid) || s.PID() == old.Process.Pid {
			t.Error("the orphan still runs")
		}
		if got := valueOf(t, s.URL("postgres"), "select 'ok'"); got != "ok" {
			t.Errorf("select = %s", got)
		}
		if text := strings.Join(said, "\n"); !strings.Contains(text, "a killed run left behind") {
			t.Errorf("Progress said %q", text)
		}
	})
}

// After a reboot the pid of the killed postgres may be any other program.
func TestStart_LeavesAStrangerAlone(t *testing.T) {
	dir := madeDir(t)
	stranger := exec.Command("sleep", "60")
	if a, err := chooseAccount(filepath.Join(dir, "data")); err != nil {
		t.Fatal(err)
	} else {
		stranger.SysProcAttr = a.attributes() // the same user: postgres takes only those for real
	}
	if err := stranger.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { kill(stranger) })
	stale := joinPIDs([]int{stranger.Process.Pid}) + "\n" + filepath.Join(dir, "data") + "\n"
	if err := os.WriteFile(filepath.Join(dir, "data", "postmaster.pid"), []byte(stale), 0o600); err != nil {
		t.Fatal(err)
	}
	startShop(t, Options{Dir: dir, Throwaway: true})
	if !alive(stranger.Process.Pid) {
		t.Error("another program was ended because of an old pid file")
	}
}

func TestStart_AfterAKillDuringInitdb(t *testing.T) {
	dir := shopDir(t)
	shop := shopCommand(t, dir)
	must(t, shop.Start())
	unfinished := filepath.Join(dir, "data.new-*")
	eventually(t, "initdb works", func() bool {
		half, _ := filepath.Glob(filepath.Join(unfinished, "base"))
		return len(half) == 1
	})
	kill(shop)

	s := startShop(t, Options{Dir: dir, Throwaway: true})
	if got := valueOf(t, s.URL("postgres"), "select 'ok'"); got != "ok" {
		t.Errorf("select = %s", got)
	}
	if left, _ := filepath.Glob(unfinished); len(left) != 0 {
		t.Errorf("left: %v", left)
	}
}

func TestStop_WithOpenClients(t *testing.T) {
	s := startShop(t, Options{Dir: madeDir(t), Throwaway: true})
	for range 3 {
		if _, err := connect(t, s.URL("postgres")).Exec(t.Context(), "begin; select 1"); err != nil {
			t.Fatal(err)
		}
	}
	begin := time.Now()
	cancelled, cancel := context.WithCancel(t.Context())
	cancel() // as the context of a program that was interrupted
	if err := s.Stop(cancelled); err != nil {
		t.Errorf("Stop() = %v", err)
	}
	took := time.Since(begin)
	t.Logf("stop: %v", took)
	if took > 5*time.Second {
		t.Errorf("Stop() took %v", took)
	}
	select {
	case <-s.Done():
	default:
		t.Error("Done() is open after Stop()")
	}
	if err := s.Stop(t.Context()); err != nil {
		t.Errorf("second Stop() = %v", err)
	}
}

func TestDone_WhenPostgresDiesByItself(t *testing.T) {
	dir := madeDir(t)
	s := startShop(t, Options{Dir: dir, Throwaway: true})
	if err := syscall.Kill(s.PID(), syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	select {
	case <-s.Done():
	case <-time.After(10 * time.Second):
		t.Fatal("Done() stays open")
	}
	stopShop(t, s)
	again := startShop(t, Options{Dir: dir, Throwaway: true})
	if got := valueOf(t, again.URL("postgres"), "select 'ok'"); got != "ok" {
		t.Errorf("select = %s", got)
	}
}

// A program that ignores what it can stands for a postgres that hangs.
func TestProcess_EndGetsHarder(t *testing.T) {
	for _, test := range []struct {
		name, trap string
		want       string
		forced     bool
	}{
		{"Fast", `trap "exit 0" INT`, "", false},
		{"Immediate", `trap "" INT; trap "exit 0" QUIT`, "stopped without saving", false},
		{"Kill", `trap "" INT QUIT`, "was killed", true},
	} {
		t.Run(test.name, func(t *testing.T) {
			p, ready := stubborn(t, test.trap)
			<-ready
			forced := false
			err := p.end(t.Context(), patience{fast: 100 * time.Millisecond, immediate: 100 * time.Millisecond}, func() { forced = true })
			if test.want == "" && err != nil {
				t.Errorf("end() = %v", err)
			}
			if test.want != "" {
				wantText(t, err, test.want)
			}
			if forced != test.forced {
				t.Errorf("forced = %v, want %v", forced, test.forced)
			}
		})
	}
}

// stubborn starts a shell with traps; ready is closed when they are set.
func stubborn(t *testing.T, trap string) (*process, <-chan struct{}) {
	t.Helper()
	read, write, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("sh", "-c", trap+"; echo ready; exec >&-; while :; do sleep 0.02; done")
	cmd.Stdout = write
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	p, err := spawn(cmd)
	if err != nil {
		t.Fatal(err)
	}
	write.Close()
	t.Cleanup(func() { killGroup(p); <-p.ended })
	ready := make(chan struct{})
	go func() {
		defer close(ready)
		defer read.Close()
		_, _ = read.Read(make([]byte, 5))
	}()
	return p, ready
}
