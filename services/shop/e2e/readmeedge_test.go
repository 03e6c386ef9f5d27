package e2e_test

import (
	"bufio"
	"context"
	"net/http"
	"strings"
	"testing"

	"tackfree/services/shop/internal/suite"
)

// The lines that the README has for other programs can be typed as they stand, with the secret of the
// first in the place of $SECRET.
func TestReadme_OtherProgramsCanBeTyped(t *testing.T) {
	s := open(t, func(o *suite.Options) { o.Pages = "127.0.0.1:0" })
	shop(t, s.Dir(), "piece", "take-in", "Pine dresser", "--kind", "dresser", "--price", "40", "--source", "church sale", "--part", "case")
	lines := strings.Split(strings.TrimSpace(block(t, "revoked:")), "\n")
	add, _, _ := strings.Cut(strings.TrimPrefix(lines[0], program(t)), "#")
	secret := secretIn(t, shop(t, s.Dir(), argsOf(add)...))
	want := []struct{ kind, says string }{{"application/json", "Pine dresser"}, {"text/csv", "display_name"}, {"text/event-stream", ""}}
	if len(lines) != 1+len(want) {
		t.Fatalf("the README has %d lines for other programs, want %d", len(lines), 1+len(want))
	}
	for i, line := range lines[1:] {
		kind, body := curled(t, s.PagesURL(), strings.ReplaceAll(line, "$SECRET", secret), want[i].says)
		if !strings.HasPrefix(kind, want[i].kind) || !strings.Contains(body, want[i].says) {
			t.Errorf("%s\nanswers %s: %s\nwant %s with %q", line, kind, body, want[i].kind, want[i].says)
		}
	}
}

// secretIn is the longest word that a token is shown with.
func secretIn(t *testing.T, printed string) (secret string) {
	t.Helper()
	for _, w := range strings.Fields(printed) {
		if len(w) > len(secret) {
			secret = w
		}
	}
	if len(secret) < 20 {
		t.Fatalf("no secret is shown: %s", printed)
	}
	return secret
}

// curled asks as curl does that is typed so, and reads until it says something; of nothing it reads nothing.
func curled(t *testing.T, address, line, until string) (kind, body string) {
	t.Helper()
	args := argsOf(line)
	if args[0] != "curl" {
		t.Fatalf("%q is not for curl", line)
	}
	url := strings.Replace(args[len(args)-1], "http://127.0.0.1:7410", address, 1)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, url, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, arg := range args {
		if name, value, ok := strings.Cut(arg, ": "); ok && args[i-1] == "-H" {
			r.Header.Set(name, value)
		}
	}
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = resp.Body.Close() }()
	if resp.StatusCode != http.StatusOK {
		t.Errorf("%s answers %s", line, resp.Status)
	}
	for read := bufio.NewScanner(resp.Body); !strings.Contains(body, until) && read.Scan(); {
		body += read.Text() + "\n"
	}
	return resp.Header.Get("Content-Type"), body
}
