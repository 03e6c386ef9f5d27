package project

import (
	"bufio"
	"fmt"
	"io"
	"strconv"
	"strings"

	"tackfree/pkg/fault"
)

// lines gives the fields of a file line by line, and knows where it is.
type lines struct {
	in *bufio.Scanner
	at int
}

// longestFile bounds what is read of one.
const longestFile = 8 << 20

func newLines(r io.Reader) *lines {
	in := bufio.NewScanner(io.LimitReader(r, longestFile))
	in.Buffer(nil, 1<<20)
	return &lines{in: in}
}

// next gives the fields of the next line that has any; nil: there is none.
func (l *lines) next() []string {
	for l.in.Scan() {
		l.at++
		if f := strings.Fields(l.in.Text()); len(f) > 0 {
			return f
		}
	}
	return nil
}

// numbers gives the next line as so many numbers at least.
func (l *lines) numbers(least int, what string) ([]int, error) {
	f := l.next()
	if len(f) < least {
		return nil, l.wrong("%s is missing: %d numbers are wanted here, and there are %d.", what, least, len(f))
	}
	return l.read(f)
}

func (l *lines) read(fields []string) ([]int, error) {
	all := make([]int, len(fields))
	for i, f := range fields {
		n, err := strconv.Atoi(f)
		if err != nil || n > most || n < -most {
			return nil, l.wrong("“%.20s” is not a whole number, or too large.", f)
		}
		all[i] = n
	}
	return all, nil
}

func (l *lines) wrong(format string, args ...any) error {
	return fault.New(fault.Invalid, "FILE_MALFORMED", "Line %d: %s", l.at, fmt.Sprintf(format, args...))
}

// seek goes to the line after one that begins with some words.
func (l *lines) seek(words string) error {
	for f := l.next(); f != nil; f = l.next() {
		if strings.HasPrefix(strings.Join(f, " "), words) {
			return nil
		}
	}
	return l.wrong("There is no %s in the file.", words)
}

// count refuses a number of things that no file of this kind has.
func (l *lines) count(n int, what string) error {
	if n < 0 || n > 1<<15 {
		return l.wrong("%d %s are too few or too many.", n, what)
	}
	return nil
}
