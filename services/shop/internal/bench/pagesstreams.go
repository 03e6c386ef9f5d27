package bench

import (
	"bufio"
	"context"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"runtime"
	"runtime/debug"
)

// streams opens event streams as so many browsers do, and looks what the process takes more than
// before: their own ends too, for they are in it.
func (b *pagesBench) streams(ctx context.Context, o Options, r *Pages) error {
	mine, before, err := settled()
	if err != nil {
		return err
	}
	for range pagesStreams {
		conn, err := b.browser.stream(ctx)
		if err != nil {
			return err
		}
		defer func() { _ = conn.Close() }()
	}
	mineAfter, after, err := settled()
	if err != nil {
		return err
	}
	r.StreamsMB = max(after-before, mineAfter-mine) // the system may give back what was taken before
	o.Say("%d event streams were open", pagesStreams)
	return nil
}

// settled is what Go itself has in use, and what the process takes, when all that it does not need was
// given back, in MB.
func settled() (mine, process float64, err error) {
	for range 3 { // what pools keep is given back when it was not used from one collection to the next
		debug.FreeOSMemory()
	}
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	process, err = memory()
	return float64(m.HeapInuse+m.StackInuse) / (1 << 20), process, err
}

// stream opens one event stream on a connection of its own and waits for its first line, as little as
// a client can be.
func (b *browser) stream(ctx context.Context) (net.Conn, error) {
	u, err := url.Parse(b.base)
	if err != nil {
		return nil, err
	}
	r, err := b.request(ctx, http.MethodGet, "/live", nil)
	if err != nil {
		return nil, err
	}
	for _, c := range b.client.Jar.Cookies(u) {
		r.AddCookie(c)
	}
	conn, err := new(net.Dialer).DialContext(ctx, "tcp", u.Host)
	if err != nil {
		return nil, err
	}
	if err := r.Write(conn); err != nil {
		return nil, err
	}
	resp, err := http.ReadResponse(bufio.NewReaderSize(conn, 1024), r) //nolint:bodyclose // it has no end; its connection is closed
	if err != nil {
		return nil, err
	}
	if resp.StatusCode != http.StatusOK { // its body has no end
		return nil, fmt.Errorf("an event stream is answered with %s", resp.Status)
	}
	return conn, nil
}
