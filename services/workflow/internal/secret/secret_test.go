package secret

import (
	"context"
	"encoding/base64"
	"errors"
	"strings"
	"testing"

	"golang.org/x/crypto/argon2"

	"tackfree/pkg/fault"
)

// verified enters and verifies.
func verified(t *testing.T, h *Hasher, secret, kept string) bool {
	t.Helper()
	leave, err := h.Enter(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	defer leave()
	return h.Verify(secret, kept)
}

func TestHasher_Verify(t *testing.T) {
	h := NewHasher()
	kept, err := h.Hash(t.Context(), "caf\u00e9 au lait")
	if err != nil || !strings.HasPrefix(kept, "$argon2id$v=19$m=19456,t=2,p=1$") || strings.Contains(kept, "lait") {
		t.Fatalf("Hash = %q, %v", kept, err)
	}
	if other, err := h.Hash(t.Context(), "caf\u00e9 au lait"); err != nil || other == kept {
		t.Errorf("the same secret is kept alike: %q", other)
	}
	salt := []byte("another salt")
	older := "$argon2id$v=19$m=8192,t=1,p=2$" + base64.RawStdEncoding.EncodeToString(salt) + "$" + base64.RawStdEncoding.EncodeToString(argon2.IDKey([]byte("4827"), salt, 1, 8192, 2, 16))
	for _, c := range []struct {
		secret, kept string
		want         bool
	}{
		{"caf\u00e9 au lait", kept, true}, {"cafe\u0301 au lait", kept, true}, // the same letters, typed in two ways
		{"cafe au lait", kept, false}, {"", kept, false}, {"Caf\u00e9 au lait", kept, false}, {"caf\u00e9 au lait ", kept, false},
		{"4827", older, true}, {"4828", older, false}, // of other settings
		{"", "", false}, {"4827", "", false}, {"4827", "4827", false}, {"", "$argon2id$v=19$m=19456,t=2,p=1$$", false}, {"4827", strings.Replace(older, "argon2id", "argon2i", 1), false},
		{"4827", strings.Replace(older, "t=1", "t=0", 1), false}, {"4827", strings.Replace(older, "v=19", "v=16", 1), false},
	} {
		if got := verified(t, h, c.secret, c.kept); got != c.want {
			t.Errorf("Verify(%q, %q) = %v", c.secret, c.kept, got)
		}
	}
}

// A few are worked on, a few wait, and the others are told so at once; who goes away gives up their place.
func TestHasher_Enter(t *testing.T) {
	h := NewHasher()
	var leaves []func()
	for range atWork {
		leave, err := h.Enter(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		leaves = append(leaves, leave)
	}
	ctx, cancel := context.WithCancel(t.Context())
	waited := make(chan error, queued)
	for range queued {
		go func() {
			_, err := h.Enter(ctx)
			waited <- err
		}()
	}
	for len(h.waiting) < atWork+queued { // they are on their way
		select {
		case err := <-waited:
			t.Fatalf("one who should wait: %v", err)
		default:
		}
	}
	if _, err := h.Enter(t.Context()); !fault.Is(err, "TOO_MANY_SIGN_INS") || !errors.Is(err, fault.Exhausted) {
		t.Errorf("one too many: %v", err)
	}
	cancel()
	for range queued {
		if err := <-waited; !errors.Is(err, context.Canceled) {
			t.Errorf("one who went away: %v", err)
		}
	}
	for _, leave := range leaves {
		leave()
	}
	if len(h.waiting) != 0 || len(h.places) != 0 {
		t.Errorf("%d places and %d of those who wait are still taken", len(h.places), len(h.waiting))
	}
}

func TestNew(t *testing.T) {
	seen := map[string]bool{}
	for range 100 {
		s := New("tackfree_")
		if seen[s] || len(s) != len("tackfree_")+43 || !strings.HasPrefix(s, "tackfree_") {
			t.Fatalf("New = %q", s)
		}
		seen[s] = true
		if !Is(s, Sum(s)) || Is(s+"x", Sum(s)) || Is("", Sum(s)) || len(Sum(s)) != 32 {
			t.Errorf("%q is not known by its sum", s)
		}
	}
	if key := NewKey(); len(key) != 32 || key == NewKey() {
		t.Errorf("NewKey = %q", key)
	}
}

func BenchmarkHasher(b *testing.B) {
	for b.Loop() {
		hash("linseed and turpentine")
	}
}
