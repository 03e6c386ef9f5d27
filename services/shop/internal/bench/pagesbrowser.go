package bench

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"regexp"
	"strings"

	"github.com/klauspost/compress/gzip"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/suite"
)

// browser asks for pages as a real one does: over HTTP, with a session's cookie, packed.
type browser struct {
	client *http.Client
	base   string
}

// answer is a page as it came.
type answer struct {
	status int
	tag    string // of what it is a version
	sent   int    // bytes on the line, without headers
	body   []byte // unpacked
}

const benchOwner, benchSecret = "Owner of the bench", "a passphrase for the bench"

// signIn makes the shop somebody's and signs them in.
func signIn(ctx context.Context, s *suite.Suite) (*browser, error) {
	if _, err := s.Shop.SignIn.ClaimShop(ctx, &workflowv1.ClaimShopRequest{DisplayName: benchOwner, Passphrase: benchSecret}); err != nil {
		return nil, err
	}
	jar, err := cookiejar.New(nil)
	if err != nil {
		return nil, err
	}
	b := &browser{base: s.PagesURL(), client: &http.Client{Jar: jar, Transport: &http.Transport{DisableCompression: true, MaxIdleConnsPerHost: 8},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
	return b, b.enter(ctx)
}

// key is what the forms of a page carry.
var key = regexp.MustCompile(`name="form" value="([^"]+)"`)

// enter signs in at the door, with the key that it gave.
func (b *browser) enter(ctx context.Context) error {
	door, err := b.get(ctx, "/sign-in", "")
	if err != nil {
		return err
	}
	given := key.FindSubmatch(door.body)
	if given == nil {
		return fmt.Errorf("the door has no form: %d %s", door.status, door.body)
	}
	form := url.Values{"name": {benchOwner}, "secret": {benchSecret}, "then": {"/day"}, "form": {string(given[1])}}
	r, err := b.request(ctx, http.MethodPost, "/sign-in", strings.NewReader(form.Encode()))
	if err != nil {
		return err
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	in, err := b.do(r)
	if err == nil && in.status != http.StatusSeeOther {
		err = fmt.Errorf("signing in is answered with %d: %s", in.status, in.body)
	}
	return err
}

func (b *browser) request(ctx context.Context, method, path string, body io.Reader) (*http.Request, error) {
	r, err := http.NewRequestWithContext(ctx, method, b.base+path, body)
	if err != nil {
		return nil, err
	}
	r.Header.Set("Accept-Encoding", "gzip")
	return r, nil
}

// get asks for a page, or whether it is another than the one of a tag.
func (b *browser) get(ctx context.Context, path, tag string) (*answer, error) {
	r, err := b.request(ctx, http.MethodGet, path, nil)
	if err != nil {
		return nil, err
	}
	if tag != "" {
		r.Header.Set("If-None-Match", tag)
	}
	return b.do(r)
}

func (b *browser) do(r *http.Request) (*answer, error) {
	resp, err := b.client.Do(r)
	if err != nil {
		return nil, err
	}
	defer func() { _ = resp.Body.Close() }()
	packed, err := io.ReadAll(resp.Body)
	if err != nil {
		return nil, err
	}
	out := &answer{status: resp.StatusCode, tag: resp.Header.Get("ETag"), sent: len(packed), body: packed}
	if resp.Header.Get("Content-Encoding") != "gzip" {
		return out, nil
	}
	z, err := gzip.NewReader(bytes.NewReader(packed))
	if err != nil {
		return nil, err
	}
	out.body, err = io.ReadAll(z)
	return out, err
}

// whole refuses a page that is not all there: a part that could not be read makes it fast.
func (a *answer) whole() error {
	if a.status != http.StatusOK {
		return fmt.Errorf("the page is answered with %d: %s", a.status, a.body)
	}
	for _, part := range []string{"day-work", "day-ready", "day-rack", "day-waits", "day-promises", "day-alerts", "day-money", "Helper 3", "Oak dresser with"} {
		if !bytes.Contains(a.body, []byte(part)) {
			return fmt.Errorf("the page has no %s", part)
		}
	}
	return nil
}

// events tells each subject of the event stream, until the context ends.
func (b *browser) events(ctx context.Context) (<-chan string, error) {
	r, err := b.request(ctx, http.MethodGet, "/live", nil)
	if err != nil {
		return nil, err
	}
	resp, err := b.client.Do(r) //nolint:bodyclose // whoever reads the stream below closes it
	if err != nil {
		return nil, err
	}
	told := make(chan string, 1000)
	go func() {
		defer func() { _ = resp.Body.Close() }()
		defer close(told)
		lines := bufio.NewScanner(resp.Body)
		for lines.Scan() {
			if subject, is := strings.CutPrefix(lines.Text(), "event: "); is {
				told <- subject
			}
		}
	}()
	return told, nil
}
