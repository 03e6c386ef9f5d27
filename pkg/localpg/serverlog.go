package localpg

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

const (
	maxLogSize  = 10 << 20 // bytes; beyond it the log is rotated at a start
	maxTail     = 16 << 10 // bytes of the log that are looked through for a reason
	maxReasons  = 6        // log lines in an error
	currentLog  = "postgres.log"
	previousLog = "postgres.log.1"
)

// serverLog is the file that initdb and postgres write to. We open it and pass
// it on, so it needs no permission of the account.
type serverLog struct {
	file  *os.File
	begin int64 // size when opened: what comes after is of this run
}

// openLog opens the log for appending. Two files of about maxLogSize are kept.
func openLog(dir string, a account) (*serverLog, error) {
	path := filepath.Join(dir, currentLog)
	if err := rotate(path, filepath.Join(dir, previousLog)); err != nil {
		return nil, fmt.Errorf("rotating the Postgres log: %w", err)
	}
	file, err := os.OpenFile(path, os.O_RDWR|os.O_APPEND|os.O_CREATE|noFollow, 0o600)
	if err != nil {
		return nil, fmt.Errorf("opening the Postgres log: %w", err)
	}
	info, err := file.Stat()
	if err := errors.Join(err, a.own(path)); err != nil {
		_ = file.Close()
		return nil, fmt.Errorf("opening the Postgres log: %w", err)
	}
	return &serverLog{file: file, begin: info.Size()}, nil
}

func rotate(path, previous string) error {
	info, err := os.Lstat(path)
	if errors.Is(err, fs.ErrNotExist) || err == nil && info.Size() <= maxLogSize {
		return nil
	}
	if err != nil {
		return err
	}
	return os.Rename(path, previous)
}

func (l *serverLog) close() { _ = l.file.Close() }

// mark forgets what was written so far, before another attempt.
func (l *serverLog) mark() {
	if info, err := l.file.Stat(); err == nil {
		l.begin = info.Size()
	}
}

// reason returns the lines that say why a program failed, joined by "; ".
func (l *serverLog) reason() string {
	lines := l.tail()
	var causes []string
	for _, line := range lines {
		if cause, ok := causeIn(line); ok {
			causes = append(causes, cause)
		}
	}
	if len(causes) == 0 {
		causes = lines
	}
	if len(causes) == 0 {
		return "(it wrote nothing)"
	}
	return strings.Join(causes[max(0, len(causes)-maxReasons):], "; ")
}

// tail returns the non-empty lines since begin, at most the last maxTail bytes.
func (l *serverLog) tail() []string {
	info, err := l.file.Stat()
	if err != nil {
		return nil
	}
	from := max(l.begin, info.Size()-maxTail)
	text, _ := io.ReadAll(io.NewSectionReader(l.file, from, maxTail))
	var lines []string
	for line := range strings.Lines(string(text)) {
		if line = strings.TrimSpace(line); line != "" {
			lines = append(lines, line)
		}
	}
	return lines
}

// causeIn cuts the time and pid from a log line that reports a failure. The
// texts are English because the clean environment sets LC_ALL=C.
func causeIn(line string) (string, bool) {
	for _, word := range []string{"FATAL:", "PANIC:", "ERROR:", "DETAIL:", "HINT:", "WARNING:", "error:"} {
		if i := strings.Index(line, word); i >= 0 {
			return line[i:], true
		}
	}
	return "", false
}
