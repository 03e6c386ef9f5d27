package cli

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"golang.org/x/term"
)

// secretFlags say where a secret is read from: never the command line, which other users of the machine and
// the shell's history can see.
type secretFlags struct {
	output
	Stdin bool `help:"Read it from standard input, one line, in place of the terminal." name:"stdin"`
}

// read asks for a secret, twice where it is typed unseen.
func (f secretFlags) read(e *env, what string) (string, error) {
	if f.Stdin {
		line, err := bufio.NewReader(io.LimitReader(os.Stdin, 1024)).ReadString('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return "", err
		}
		return strings.TrimRight(line, "\r\n"), nil
	}
	fd := int(os.Stdin.Fd())
	if !term.IsTerminal(fd) {
		return "", fmt.Errorf("a %s is typed at a terminal; with --stdin it is read from standard input", what)
	}
	first, err := unseen(e, fd, fmt.Sprintf("The new %s: ", what))
	if err != nil {
		return "", err
	}
	again, err := unseen(e, fd, "Once more: ")
	if err != nil {
		return "", err
	}
	if first != again {
		return "", errors.New("these are not the same; nothing was changed")
	}
	return first, nil
}

func unseen(e *env, fd int, ask string) (string, error) {
	fmt.Fprint(e.errs, ask)
	typed, err := term.ReadPassword(fd)
	fmt.Fprintln(e.errs)
	return string(typed), err
}
