package access

import (
	"crypto/ed25519"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"encoding/base64"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Key is what the shop's access tokens are signed and checked with.
type Key struct {
	private ed25519.PrivateKey // nil: it can only check
	public  ed25519.PublicKey
	id      string
}

// Load reads a key from a PEM file: a private one (PKCS 8), or a public one, which can only
// check. A private key that others than its owner and group can read is refused.
func Load(file string) (*Key, error) {
	b, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("access key: %w", err)
	}
	block, _ := pem.Decode(b)
	if block == nil {
		return nil, fmt.Errorf("access key: %s is no PEM file", file)
	}
	k, err := parse(block)
	if err != nil {
		return nil, fmt.Errorf("access key: %s: %w", file, err)
	}
	if k.private == nil {
		return k, nil
	}
	return k, private(file)
}

// LoadOrCreate reads a private key, and makes one first where there is no file. Of several that
// make it at once all get the same.
func LoadOrCreate(file string) (*Key, error) {
	if _, err := os.Lstat(file); errors.Is(err, fs.ErrNotExist) {
		if err := create(file); err != nil {
			return nil, fmt.Errorf("access key: %w", err)
		}
	}
	return Load(file)
}

// create writes a new key beside its file and links it there, which one of several does.
func create(file string) error {
	_, made, err := ed25519.GenerateKey(rand.Reader)
	if err != nil {
		return err
	}
	der, err := x509.MarshalPKCS8PrivateKey(made)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(file), ".key-*") // mode 0600
	if err != nil {
		return err
	}
	defer func() { _ = os.Remove(f.Name()) }()
	err = pem.Encode(f, &pem.Block{Type: "PRIVATE KEY", Bytes: der})
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Link(f.Name(), file); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	return nil
}

func parse(block *pem.Block) (*Key, error) {
	switch block.Type {
	case "PRIVATE KEY":
		read, err := x509.ParsePKCS8PrivateKey(block.Bytes)
		if err != nil {
			return nil, err
		}
		if key, ok := read.(ed25519.PrivateKey); ok {
			return newKey(key, key.Public().(ed25519.PublicKey)), nil
		}
	case "PUBLIC KEY":
		read, err := x509.ParsePKIXPublicKey(block.Bytes)
		if err != nil {
			return nil, err
		}
		if key, ok := read.(ed25519.PublicKey); ok {
			return newKey(nil, key), nil
		}
	}
	return nil, errors.New("it is no Ed25519 key")
}

func newKey(private ed25519.PrivateKey, public ed25519.PublicKey) *Key {
	sum := sha256.Sum256(public)
	return &Key{private: private, public: public, id: base64.RawURLEncoding.EncodeToString(sum[:9])}
}

// private refuses a file that others than its owner and group can read, or that others than
// its owner can write.
func private(file string) error {
	info, err := os.Stat(file)
	if err != nil {
		return fmt.Errorf("access key: %w", err)
	}
	if info.Mode().Perm()&0o037 != 0 {
		return fmt.Errorf("access key: others can read or change %s (mode %o): whoever can read it can give any command as anybody. Make it the service's own with: chmod 600 %s", file, info.Mode().Perm(), file)
	}
	return nil
}

// Signs reports whether the key can sign; no key cannot.
func (k *Key) Signs() bool { return k != nil && k.private != nil }
