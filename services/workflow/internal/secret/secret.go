// Package secret turns what people sign in with into what may be kept of it.
//
//	PIN, passphrase ── Hash ─▶ $argon2id$v=19$m=19456,t=2,p=1$salt$hash ── Verify
//	session, token  ── New  ─▶ 256 random bits, of which Sum is kept
//
// Argon2id takes memory and time on purpose. So that sign-ins cannot take the whole
// machine, a few are worked on at once, a few wait, and the others are told to come back.
package secret

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"strings"
	"sync"

	"golang.org/x/crypto/argon2"
	"golang.org/x/text/unicode/norm"

	"tackfree/pkg/fault"
)

// Hasher hashes what people sign in with.
type Hasher struct {
	places  chan struct{} // at work
	waiting chan struct{} // and before it
	nobodys func() string // is verified for those who have no secret, so that they take as long
}

const (
	atWork = 2
	queued = 8
)

// What OWASP's Password Storage Cheat Sheet asks of Argon2id, with 19 MiB.
const (
	memory  = 19 * 1024 // KiB
	passes  = 2
	threads = 1
	saltLen = 16 // bytes
	keyLen  = 32 // bytes
)

// NewHasher makes a hasher, of which a service needs one.
func NewHasher() *Hasher {
	return &Hasher{places: make(chan struct{}, atWork), waiting: make(chan struct{}, atWork+queued), nobodys: sync.OnceValue(func() string { return hash(New("")) })}
}

// Enter waits for a place, in which one secret may be hashed or verified. Fault: TOO_MANY_SIGN_INS.
func (h *Hasher) Enter(ctx context.Context) (leave func(), err error) {
	select {
	case h.waiting <- struct{}{}:
	default:
		return nil, fault.New(fault.Exhausted, "TOO_MANY_SIGN_INS", "Too many are signing in at this moment. Try again in a few seconds.")
	}
	select {
	case h.places <- struct{}{}:
		return func() { <-h.places; <-h.waiting }, nil
	case <-ctx.Done():
		<-h.waiting
		return nil, ctx.Err()
	}
}

// Hash gives what may be kept of a secret.
func (h *Hasher) Hash(ctx context.Context, secret string) (string, error) {
	leave, err := h.Enter(ctx)
	if err != nil {
		return "", err
	}
	defer leave()
	return hash(secret), nil
}

// Verify reports whether a secret is the one that a hash was made of; an empty hash is nobody's, and takes
// as long. The caller has entered.
func (h *Hasher) Verify(secret, kept string) bool {
	nobodys := h.nobodys()
	if kept == "" {
		_ = verify(secret, nobodys)
		return false
	}
	return verify(secret, kept)
}

func hash(secret string) string {
	salt := random(saltLen)
	key := argon2.IDKey(bytesOf(secret), salt, passes, memory, threads, keyLen)
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, memory, passes, threads, b64(salt), b64(key))
}

// verify hashes with the settings that are kept, which may be older than ours.
func verify(secret, kept string) bool {
	var version int
	var m, t uint32
	var p uint8
	words := strings.Split(kept, "$")
	if len(words) != 6 || words[1] != "argon2id" {
		return false
	}
	if _, err := fmt.Sscanf(words[2]+" "+words[3], "v=%d m=%d,t=%d,p=%d", &version, &m, &t, &p); err != nil || version != argon2.Version || t == 0 || p == 0 {
		return false
	}
	salt, err1 := base64.RawStdEncoding.DecodeString(words[4])
	want, err2 := base64.RawStdEncoding.DecodeString(words[5])
	if err1 != nil || err2 != nil || len(want) == 0 {
		return false
	}
	return subtle.ConstantTimeCompare(want, argon2.IDKey(bytesOf(secret), salt, t, m, p, uint32(len(want)))) == 1
}

// bytesOf: the same letters typed on two devices are the same secret.
func bytesOf(secret string) []byte { return []byte(norm.NFC.String(secret)) }

// New makes a secret of 256 random bits, with some letters before it that say what it is.
func New(prefix string) string { return prefix + base64.RawURLEncoding.EncodeToString(random(32)) }

// NewKey makes a one-time key of 192 random bits.
func NewKey() string { return base64.RawURLEncoding.EncodeToString(random(24)) }

// Sum is what is kept of a secret that was made here: it is too long to be tried out, and needs no
// salt.
func Sum(secret string) []byte {
	sum := sha256.Sum256([]byte(secret))
	return sum[:]
}

// Is reports whether a secret is the one of a sum.
func Is(secret string, sum []byte) bool { return subtle.ConstantTimeCompare(Sum(secret), sum) == 1 }

func random(n int) []byte {
	b := make([]byte, n)
	_, _ = rand.Read(b) // never fails; it ends the program where there is no randomness
	return b
}

func b64(b []byte) string { return base64.RawStdEncoding.EncodeToString(b) }
