package boot

import (
	"bytes"
	"context"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tackfree/pkg/access"
	"tackfree/pkg/grpcx"
	"tackfree/pkg/pgtest"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// A socket that only this user can reach is the shop's own; one that others could reach, and a port, are not.
func TestListen_Local(t *testing.T) {
	for mode, want := range map[os.FileMode]bool{0o700: true, 0o710: false, 0o755: false, 0o701: false} {
		dir, err := os.MkdirTemp("", "boot")
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = os.RemoveAll(dir) })
		if err := os.Chmod(dir, mode); err != nil {
			t.Fatal(err)
		}
		l, err := listen(t.Context(), "unix:"+filepath.Join(dir, "s"))
		if err != nil {
			t.Fatal(err)
		}
		if grpcx.IsLocal(l) != want {
			t.Errorf("a socket in a folder of mode %o is local: %v", mode, !want)
		}
		_ = l.Close()
	}
	l, err := listen(t.Context(), "127.0.0.1:0")
	if err != nil || grpcx.IsLocal(l) {
		t.Errorf("a port is local, %v", err)
	}
	_ = l.Close()
}

// A service with a key lets in its peers, who have it too, and nobody else; one without says so where it can be
// reached from elsewhere.
func TestAlone_AccessKey(t *testing.T) {
	key := filepath.Join(t.TempDir(), "access.key")
	if _, err := access.LoadOrCreate(key); err != nil {
		t.Fatal(err)
	}
	for name, file := range map[string]string{"with a key": key, "without": ""} {
		t.Run(name, func(t *testing.T) {
			c, log := config(pgtest.Config(t, "intake").URL), &bytes.Buffer{}
			c.AccessKeyFile, c.Listen, c.BrokerURL = file, "127.0.0.1:0", "nats://127.0.0.1:1"
			ctx, stop := context.WithCancel(t.Context())
			defer stop()
			err := alone(ctx, "intake", c, slog.New(slog.NewTextHandler(log, nil)), func(ctx context.Context, c Config, d Deps) error {
				s, err := Open(ctx, "intake", c, d, parts)
				if err != nil {
					return err
				}
				go func() {
					defer stop()
					visit(t, d.Listeners[0], c, file != "")
				}()
				return s.Run(ctx)
			})
			if err != nil {
				t.Error(err)
			}
			if warned := strings.Contains(log.String(), "without an access key"); warned != (file == "") {
				t.Errorf("it warned: %v", warned)
			}
		})
	}
	c := config("postgres://nowhere")
	c.AccessKeyFile = key + ".gone"
	if _, err := c.dialer("intake"); err == nil || !strings.Contains(err.Error(), "access key") {
		t.Errorf("a key that is not there: %v", err)
	}
}

// visit calls a service as a peer of it does, and as somebody without a token.
func visit(t *testing.T, l net.Listener, c Config, guarded bool) {
	c.SalesAddr = l.Addr().String()
	dial, err := c.dialer("costing")
	if err != nil {
		t.Error(err)
		return
	}
	peer, err := dial("sales")
	if err != nil {
		t.Error(err)
		return
	}
	if _, err := eventsv1.NewEventLogServiceClient(peer).ListEvents(t.Context(), &eventsv1.ListEventsRequest{}); err != nil {
		t.Errorf("a peer: %v", err)
	}
	stranger, err := grpcx.Dial(l.Addr().String())
	if err != nil {
		t.Error(err)
		return
	}
	defer func() { _ = stranger.Close() }()
	_, err = eventsv1.NewEventLogServiceClient(stranger).ListEvents(t.Context(), &eventsv1.ListEventsRequest{})
	if (err != nil) != guarded {
		t.Errorf("a stranger: %v, want one refused: %v", err, guarded)
	}
}
