package localpg

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
)

// containerPoll is slower than readyPoll: each look starts a docker command or
// opens a connection.
const containerPoll = 100 * time.Millisecond

// containerImage returns the image that the cluster's data was made with, or
// "". Such data belongs to a user inside the image and lets clients in from
// the engine's network, so it stays with Docker; other data stays without.
func (l layout) containerImage() string {
	if entries, err := os.ReadDir(l.data); err == nil && len(entries) == 0 || errors.Is(err, fs.ErrNotExist) {
		return "" // the container was tried, but made nothing
	}
	text, _ := os.ReadFile(filepath.Join(l.root, "container"))
	return strings.TrimSpace(string(text))
}

// start runs the cluster in a container. The image must be there.
func (d docker) start(ctx context.Context, o Options, image string) (*Server, error) {
	c := &cluster{options: o.withDefaults(), account: account{uid: os.Geteuid()}}
	var err error
	if c.at, err = newLayout(o.Dir); err != nil {
		return nil, err
	}
	if err := c.claim(ctx); err != nil {
		return nil, err
	}
	s, err := d.startLocked(ctx, c, image)
	c.log.close()
	if err != nil {
		_ = c.lock.Close()
		return nil, err
	}
	return s, nil
}

func (d docker) startLocked(ctx context.Context, c *cluster, image string) (*Server, error) {
	all, err := settings(c.options, c.at.name())
	if err != nil {
		return nil, err
	}
	if err := c.recordImage(image); err != nil {
		return nil, err
	}
	if err := d.stopOrphan(ctx, c.at.name(), c.options.Progress); err != nil {
		return nil, err
	}
	k := container{name: c.at.name(), image: image, data: c.at.data, throwaway: c.options.Throwaway, settings: all}
	c.options.Progress(fmt.Sprintf("starting Postgres in the container %s of %s, with its data in %s", k.name, image, k.data))
	p, err := d.run(c, k)
	if err != nil {
		return nil, err
	}
	return d.serve(ctx, c, p)
}

// recordImage notes the image before the first start, and keeps the password.
func (c *cluster) recordImage(image string) error {
	known := c.at.containerImage()
	var err error
	if c.password, err = readPassword(c.at, c.account, known != ""); err != nil || known == image {
		return err
	}
	if err := writeDurably(filepath.Join(c.at.root, "container"), image+"\n"); err != nil {
		return fmt.Errorf("noting the image of the container: %w", err)
	}
	return nil
}

// run starts the docker client, which is the process that stands for the
// server: it lives as long as the container, and passes signals to it.
func (d docker) run(c *cluster, k container) (*process, error) {
	cmd := exec.Command(d.program, k.runArgs()...)
	cmd.Env = append(os.Environ(), "POSTGRES_PASSWORD="+c.password)
	cmd.Stdout, cmd.Stderr = c.log.file, c.log.file
	cmd.SysProcAttr = c.account.attributes()
	p, err := spawn(cmd)
	if err != nil {
		return nil, fmt.Errorf("running docker: %w", err)
	}
	return p, nil
}

// serve waits until the container serves and makes the server.
func (d docker) serve(ctx context.Context, c *cluster, p *process) (*Server, error) {
	forced := func() { d.remove(ctx, c.at.name()) }
	port, version, err := d.awaitReady(ctx, c, p)
	if err != nil {
		_ = p.end(ctx, defaultPatience, forced) // the cause is worth more than how it ended
		return nil, err
	}
	c.bin.Version = version
	s := c.serve(p, endpoint{tcp: true, port: port})
	s.forced = forced
	return s, nil
}

// awaitReady asks for the published port, then connects until the server
// accepts. While the image creates its cluster the port refuses.
func (d docker) awaitReady(ctx context.Context, c *cluster, p *process) (port uint16, version string, err error) {
	tick := time.NewTicker(containerPoll)
	defer tick.Stop()
	for {
		select {
		case <-p.ended:
			return 0, "", fmt.Errorf("the Postgres container ended before it was ready (%s); its log says: %s", p.exitText(), c.log.reason())
		case <-ctx.Done():
			return 0, "", fmt.Errorf("waiting for the Postgres container: %w; its log says: %s", context.Cause(ctx), c.log.reason())
		case <-tick.C:
		}
		if port == 0 {
			port = d.port(ctx, c.at.name())
			continue
		}
		version, err = knock(ctx, port, c.password)
		if version != "" || refusesForGood(err) {
			return port, version, err
		}
	}
}

// port returns the port of 127.0.0.1 that leads to the container, or 0 while
// it has none.
func (d docker) port(ctx context.Context, name string) uint16 {
	out, err := d.output(ctx, "port", name, "5432/tcp")
	if err != nil {
		return 0
	}
	first, _, _ := strings.Cut(out, "\n")
	_, text, err := net.SplitHostPort(strings.TrimSpace(first))
	if err != nil {
		return 0
	}
	port, _ := strconv.ParseUint(text, 10, 16)
	return uint16(port)
}

// knock returns the server's version if it accepts a connection.
func knock(ctx context.Context, port uint16, password string) (string, error) {
	ctx, cancel := context.WithTimeout(ctx, 2*time.Second)
	defer cancel()
	s := Server{tcp: true, port: port, password: password}
	conn, err := pgconn.Connect(ctx, s.URL("postgres"))
	if err != nil {
		return "", fmt.Errorf("connecting to the Postgres container: %w", err)
	}
	defer func() { _ = conn.Close(ctx) }()
	version, _, _ := strings.Cut(conn.ParameterStatus("server_version"), " ")
	return version, nil
}

// refusesForGood tells if the server runs but will never let us in: class 28
// is a wrong password or a missing line in pg_hba.conf.
func refusesForGood(err error) bool {
	refusal, ok := errors.AsType[*pgconn.PgError](err)
	return ok && strings.HasPrefix(refusal.Code, "28")
}
