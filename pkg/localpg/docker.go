package localpg

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"time"
)

const (
	defaultImage = "postgres:17-alpine"

	// containerData is not the image's own data folder: that one moved with
	// version 18, and images refuse to start when the old place is used.
	containerData = "/tackfree"
)

// docker is the docker command line. Its Go library would be the largest
// dependency of the shop for five commands.
type docker struct{ program string }

// findDocker returns an error that says why Docker can't be used. It answers
// within about two seconds, as it stands in the way of every other error.
func findDocker(ctx context.Context) (docker, error) {
	program, err := exec.LookPath("docker")
	if err != nil {
		return docker{}, errors.New("there is no docker command in PATH")
	}
	host := os.Getenv("DOCKER_HOST")
	if strings.HasPrefix(host, "tcp://") || strings.HasPrefix(host, "ssh://") {
		return docker{}, fmt.Errorf("DOCKER_HOST=%s is another machine, whose containers can't use folders of this one", host)
	}
	ctx, cancel := context.WithTimeoutCause(ctx, 2*time.Second, errors.New("no answer within 2 s"))
	defer cancel()
	d := docker{program: program}
	if _, err := d.output(ctx, "version", "--format", "{{.Server.Version}}"); err != nil {
		return docker{}, fmt.Errorf("no Docker engine answers: %w", err)
	}
	return d, nil
}

// fetch sees to it that the engine has the image.
func (d docker) fetch(ctx context.Context, image string, progress func(string)) error {
	if _, err := d.output(ctx, "image", "inspect", "--format", "{{.Id}}", image); err == nil {
		return nil
	}
	progress("fetching the container image: docker pull " + image)
	if _, err := d.output(ctx, "pull", "--quiet", image); err != nil {
		return fmt.Errorf("the image %s can't be pulled: %w", image, err)
	}
	return nil
}

// container describes the container of a cluster.
type container struct {
	name, image, data string
	throwaway         bool
	settings          map[string]string
}

// runArgs runs the container attached to the docker client. The client passes
// signals on, so the container ends with it, and it ends with us. The password
// comes by environment: arguments can be read by everybody.
func (k container) runArgs() []string {
	initdb := "--locale=C --encoding=UTF8 --auth-local=scram-sha-256 --data-checksums"
	if k.throwaway {
		initdb = "--locale=C --encoding=UTF8 --auth-local=scram-sha-256 --no-sync"
	}
	args := []string{
		"run", "--rm", "--name", k.name, "--stop-signal", "SIGINT", "--stop-timeout", "15",
		"--shm-size", "128m", "-p", "127.0.0.1::5432", "-v", k.data + ":" + containerData,
		"-e", "POSTGRES_PASSWORD", "-e", "POSTGRES_USER=" + superuser, "-e", "PGDATA=" + containerData,
		"-e", "POSTGRES_INITDB_ARGS=" + initdb, "-e", "TZ=UTC", "-e", "LC_ALL=C",
		k.image, "postgres",
	}
	return append(args, flags(k.settings)...)
}

// stopOrphan ends the container of a killed shop. The caller holds the lock of
// the cluster, so nobody else wants it.
func (d docker) stopOrphan(ctx context.Context, name string, progress func(string)) error {
	if !d.exists(ctx, name) {
		return nil
	}
	progress("stopping the container " + name + " that a killed run left behind")
	_, _ = d.output(ctx, "stop", "--time", "15", name) // what counts is whether it is gone
	d.remove(ctx, name)
	ctx, cancel := context.WithTimeoutCause(ctx, 10*time.Second, errNotYet)
	defer cancel()
	for d.exists(ctx, name) {
		if err := pause(ctx, 100*time.Millisecond); err != nil {
			return fmt.Errorf("the old container %s does not go away (%w); remove it with: docker rm -f %s", name, err, name)
		}
	}
	return nil
}

func (d docker) exists(ctx context.Context, name string) bool {
	_, err := d.output(ctx, "container", "inspect", "--format", "{{.Id}}", name)
	return err == nil
}

// remove kills the container, whatever its state; its error is of no use, as a
// container that is gone is one too.
func (d docker) remove(ctx context.Context, name string) {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
	defer cancel()
	_, _ = d.output(ctx, "rm", "--force", "--volumes", name)
}

// output runs a docker command. The error carries what the command wrote.
func (d docker) output(ctx context.Context, args ...string) (string, error) {
	cmd := exec.CommandContext(ctx, d.program, args...)
	cmd.WaitDelay = time.Second
	out, err := cmd.Output()
	if ctx.Err() != nil {
		err = context.Cause(ctx)
	}
	if exit, ok := errors.AsType[*exec.ExitError](err); ok {
		err = fmt.Errorf("docker %s: %w: %s", args[0], err, strings.TrimSpace(string(exit.Stderr)))
	}
	return strings.TrimSpace(string(out)), err
}
