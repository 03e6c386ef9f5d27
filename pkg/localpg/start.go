package localpg

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
)

// cluster is a private Postgres on its way to a running Server.
type cluster struct {
	options  Options
	at       layout
	account  account
	existing int // major version of the data, 0 if there is none
	bin      Binaries
	lock     *os.File
	log      *serverLog
	password string
}

// Start runs a private Postgres and returns when it accepts connections. The
// first start in a folder creates the cluster, which takes seconds; a crash
// before makes it recover first, which may take long: limit it by ctx.
//
// It fails at once if another process owns the folder, if no Postgres fits
// (ErrNotFound), and with the server's own words if postgres ends early.
// ctx limits the start only; use Stop to end the server.
func Start(ctx context.Context, o Options) (*Server, error) {
	return start(ctx, o, systemFinder())
}

func start(ctx context.Context, o Options, f finder) (*Server, error) {
	c, err := open(ctx, o, f)
	if err != nil {
		return nil, err
	}
	s, err := c.start(ctx)
	c.log.close() // postgres has its own descriptor
	if err != nil {
		_ = c.lock.Close()
		return nil, err
	}
	return s, nil
}

// open finds what is needed and takes the lock.
func open(ctx context.Context, o Options, f finder) (*cluster, error) {
	if err := ctx.Err(); err != nil {
		return nil, fmt.Errorf("starting Postgres: %w", err)
	}
	c := &cluster{options: o.withDefaults()}
	var err error
	if c.at, err = newLayout(o.Dir); err != nil {
		return nil, err
	}
	if image := c.at.containerImage(); image != "" {
		return nil, fmt.Errorf("the data in %s was made in a container of %s and is only used there; start Docker, or use another folder", c.at.root, image)
	}
	if c.account, err = chooseAccount(c.at.data); err != nil {
		return nil, err
	}
	if c.existing, err = c.at.major(); err != nil {
		return nil, err
	}
	if c.bin, err = f.find(ctx, o.BinDir, c.existing); err != nil {
		return nil, err
	}
	return c, c.claim(ctx)
}

// claim prepares the folders and takes the lock and the log.
func (c *cluster) claim(ctx context.Context) error {
	if err := c.at.prepare(c.account); err != nil {
		return err
	}
	if err := c.tryAccount(ctx); err != nil {
		return err
	}
	lock, err := acquireLock(c.at.lock, c.account)
	if err != nil {
		return err
	}
	log, err := openLog(c.at.log, c.account)
	if err != nil {
		return errors.Join(err, lock.Close())
	}
	c.lock, c.log = lock, log
	return nil
}

// tryAccount finds out whether the other user can reach the binaries and the
// cluster folder, by trying. Mode bits alone would miss ACLs and containers.
func (c *cluster) tryAccount(ctx context.Context) error {
	if !c.account.switched {
		return nil
	}
	cmd := exec.CommandContext(ctx, filepath.Join(c.bin.Dir, "postgres"), "--version")
	cmd.Dir, cmd.Env = c.at.root, cleanEnv(c.bin.Dir)
	cmd.SysProcAttr = c.account.attributes()
	err := cmd.Run()
	if err == nil {
		return nil
	}
	for _, dir := range []string{c.at.root, c.bin.Dir} {
		if blocked := blockedAt(dir, c.account); blocked != "" {
			return fmt.Errorf("as root, Postgres runs as user %s, who may not enter %s and so can't use %s; use another folder, or allow it with: chmod a+x %s", c.account.name, blocked, dir, blocked)
		}
	}
	return fmt.Errorf("running Postgres as user %s in %s: %w", c.account.name, c.at.root, err)
}

// start goes from a taken lock to a running server.
func (c *cluster) start(ctx context.Context) (*Server, error) {
	var err error
	if c.password, err = readPassword(c.at, c.account, c.existing != 0); err != nil {
		return nil, err
	}
	if err := c.evict(ctx); err != nil {
		return nil, err
	}
	if err := c.create(ctx); err != nil {
		return nil, err
	}
	e, err := newEndpoint(c.at, c.account, c.options.TCP)
	if err != nil {
		return nil, err
	}
	p, e, err := c.launchPatiently(ctx, e)
	if err != nil {
		e.remove()
		return nil, err
	}
	return c.serve(p, e), nil
}

// serve makes the server and frees everything when postgres ends.
func (c *cluster) serve(p *process, e endpoint) *Server {
	s := &Server{
		version: c.bin.Version, password: c.password, process: p, forced: func() {},
		socket: e.socket, tcp: e.tcp, port: e.port, done: make(chan struct{}),
	}
	log := c.options.Log.With("dir", c.at.root, "pid", p.pid)
	log.Info("postgres started", "version", s.version)
	go func() {
		<-p.ended
		log.Info("postgres ended", "how", p.exitText())
		e.remove()
		_ = c.lock.Close()
		close(s.done)
	}()
	return s
}
