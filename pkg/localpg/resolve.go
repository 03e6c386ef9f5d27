package localpg

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
)

// Ways says how Resolve may get a Postgres.
type Ways struct {
	Options
	// Install allows to install Postgres by the system's package manager.
	Install bool
	// Image is the container image to use; empty: the one that existing data
	// was made with, else postgres:17-alpine.
	Image string
}

// Resolve starts a private Postgres by the first way that this machine offers:
// installed binaries (see Find), a Docker engine that has or can pull the
// image, the package manager if Install is set. Progress tells before anything
// is downloaded or installed.
//
// Data stays with the way that made it: a cluster of this machine's Postgres
// is not given to a container, nor the other way round. If no way is left, the
// error names all of them with the reason why each was not taken, and wraps
// ErrNotFound.
func Resolve(ctx context.Context, w Ways) (*Server, error) {
	return ladder{finder: systemFinder(), system: thisSystem()}.resolve(ctx, w)
}

// ladder is Resolve with the machine as a parameter.
type ladder struct {
	finder finder
	system system
}

func (l ladder) resolve(ctx context.Context, w Ways) (*Server, error) {
	w.Options = w.withDefaults()
	at, err := newLayout(w.Dir)
	if err != nil {
		return nil, err
	}
	if image := at.containerImage(); image != "" {
		return l.resume(ctx, w, image)
	}
	s, err := start(ctx, w.Options, l.finder)
	if !errors.Is(err, ErrNotFound) || w.BinDir != "" {
		return s, err
	}
	reasons := []string{err.Error()}
	for _, way := range []func(context.Context, Ways, layout) (*Server, error){l.viaDocker, l.viaInstall} {
		s, err := way(ctx, w, at)
		passed, ok := errors.AsType[*notTaken](err)
		if !ok {
			return s, err
		}
		reasons = append(reasons, passed.reason)
	}
	return nil, l.nothingLeft(w, at, reasons)
}

// notTaken is why a way of the ladder is not open; the next one is tried.
type notTaken struct{ reason string }

func (n *notTaken) Error() string { return n.reason }

// resume starts the container whose data is there.
func (l ladder) resume(ctx context.Context, w Ways, image string) (*Server, error) {
	if w.Image != "" {
		image = w.Image
	}
	d, err := findDocker(ctx)
	if err != nil {
		return nil, fmt.Errorf("the data in %s was made in a container of %s, but %w; start Docker, or use another folder", w.Dir, image, err)
	}
	if err := d.fetch(ctx, image, w.Progress); err != nil {
		return nil, err
	}
	return d.start(ctx, w.Options, image)
}

func (l ladder) viaDocker(ctx context.Context, w Ways, at layout) (*Server, error) {
	if existing, err := at.major(); err != nil || existing != 0 {
		return nil, &notTaken{fmt.Sprintf("Docker: not used, because the data in %s was made without it", at.root)}
	}
	d, err := findDocker(ctx)
	if err != nil {
		return nil, &notTaken{"Docker: " + err.Error()}
	}
	image := w.Image
	if image == "" {
		image = defaultImage
	}
	if err := d.fetch(ctx, image, w.Progress); err != nil {
		return nil, &notTaken{"Docker: " + err.Error()}
	}
	return d.start(ctx, w.Options, image)
}

func (l ladder) viaInstall(ctx context.Context, w Ways, _ layout) (*Server, error) {
	if !w.Install {
		return nil, &notTaken{"the package manager: not asked to install"}
	}
	if err := l.system.install(ctx, w.Progress); err != nil {
		return nil, &notTaken{"the package manager: " + err.Error()}
	}
	s, err := start(ctx, w.Options, l.finder)
	if errors.Is(err, ErrNotFound) {
		return nil, &notTaken{"the package manager: what it installed does not fit: " + err.Error()}
	}
	return s, err
}

// nothingLeft tells a person what to do, then why nothing worked by itself.
func (l ladder) nothingLeft(w Ways, at layout, reasons []string) error {
	todo := []string{"set DATABASE_URL to an existing Postgres"}
	if existing, err := at.major(); err == nil && existing != 0 {
		todo = append(todo, fmt.Sprintf("install Postgres %d, which made the data in %s%s", existing, at.root, l.system.advice()))
	} else {
		todo = append(todo, fmt.Sprintf("install Postgres >= %d%s", oldestMajor, l.system.advice()), "start Docker")
	}
	if !w.Install {
		todo = append(todo, "run again with --install-postgres")
	}
	return fmt.Errorf("%w, so there is no database to start. Do one of these: %s. What was tried: %s",
		ErrNotFound, strings.Join(todo, "; or "), strings.Join(reasons, " | "))
}

// advice is the install command in brackets, or nothing.
func (s system) advice() string {
	r, err := recipeFor(s)
	if err != nil {
		return ""
	}
	command := strings.Join(r.install, " ")
	if !r.asUser && os.Geteuid() != 0 {
		command = "sudo " + command
	}
	return " (with: " + command + ")"
}
