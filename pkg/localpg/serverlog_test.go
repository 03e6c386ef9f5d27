//go:build unix

package localpg

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestServerLog_Reason(t *testing.T) {
	for _, test := range []struct {
		name, text, want string
	}{
		{"TellsTheCauseWithoutTheTime", "2026-01-02 03:04:05.678 UTC [7] LOG:  starting\n2026-01-02 03:04:05.679 UTC [7] FATAL:  no luck\n2026-01-02 UTC [7] HINT:  Try again.\n", "FATAL:  no luck; HINT:  Try again."},
		{"TellsWhatThereIs", "killed by cosmic rays\n\n", "killed by cosmic rays"},
		{"SaysNothing", "", "(it wrote nothing)"},
		{"KeepsTheLast", strings.Repeat("ERROR: x\n", 20) + "FATAL: y\n", strings.Repeat("ERROR: x; ", maxReasons-1) + "FATAL: y"},
	} {
		t.Run(test.name, func(t *testing.T) {
			dir := t.TempDir()
			must(t, os.WriteFile(filepath.Join(dir, currentLog), []byte("FATAL: of another run\n"), 0o600))
			log, err := openLog(dir, account{})
			must(t, err)
			defer log.close()
			fmt.Fprint(log.file, test.text)
			if got := log.reason(); got != test.want {
				t.Errorf("reason() = %q, want %q", got, test.want)
			}
		})
	}
}

func TestServerLog_IsBounded(t *testing.T) {
	dir := t.TempDir()
	must(t, os.WriteFile(filepath.Join(dir, currentLog), []byte("big"), 0o600))
	must(t, os.Truncate(filepath.Join(dir, currentLog), maxLogSize+1))
	log, err := openLog(dir, account{})
	must(t, err)
	defer log.close()
	if log.begin != 0 {
		t.Errorf("the log begins with %d bytes, want a new one", log.begin)
	}
	if old, err := os.Stat(filepath.Join(dir, previousLog)); err != nil || old.Size() != maxLogSize+1 {
		t.Errorf("the previous log is not kept: %v", err)
	}
}
