package access_test

import (
	"crypto/ed25519"
	"crypto/rand"
	"crypto/x509"
	"encoding/pem"
	"os"
	"path/filepath"
	"testing"
	"time"

	"tackfree/pkg/access"
	typev1 "tackfree/proto/tackfree/type/v1"

	_ "tackfree/proto/tackfree/costing/v1"
	_ "tackfree/proto/tackfree/intake/v1"
	_ "tackfree/proto/tackfree/materials/v1"
	_ "tackfree/proto/tackfree/sales/v1"
)

var morning = time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)

// nell is a helper who has signed in.
var nell = access.Claims{Person: "people/018f4a2b-0000-7000-8000-000000000001", Name: "Nell", Session: "sessions/1", Role: typev1.Role_ROLE_HELPER}

// clock is one that tests set.
type clock struct{ t time.Time }

func (c *clock) now() time.Time { return c.t }

func newKey(t testing.TB) *access.Key {
	t.Helper()
	k, err := access.LoadOrCreate(filepath.Join(t.TempDir(), "keys", "access.key"))
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func sign(t testing.TB, k *access.Key, c access.Claims, now time.Time) string {
	t.Helper()
	token, _, err := k.Sign(c, now)
	if err != nil {
		t.Fatal(err)
	}
	return token
}

// keyFile writes a key that is made here, as PEM of a kind.
func keyFile(t testing.TB, kind string, mode os.FileMode) (string, ed25519.PrivateKey) {
	t.Helper()
	public, private, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	der, err := x509.MarshalPKCS8PrivateKey(private)
	if kind == "PUBLIC KEY" {
		der, err = x509.MarshalPKIXPublicKey(public)
	}
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "key.pem")
	if err := os.WriteFile(file, pem.EncodeToMemory(&pem.Block{Type: kind, Bytes: der}), mode); err != nil {
		t.Fatal(err)
	}
	return file, private
}
