package access_test

import (
	"context"
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"
	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/access"
	"tackfree/pkg/fault"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// What is said in a token is what is read of it, by the one who made it and by another that only checks.
func TestToken_RoundTrip(t *testing.T) {
	k, c := newKey(t), clock{morning}
	program := access.Claims{Name: "till", Session: "tokens/2", Role: typev1.Role_ROLE_LEAD, ReadOnly: true, Methods: []string{"tackfree.intake.v1.IntakeService"}}
	for _, want := range []access.Claims{nell, program, {Service: "costing", Role: typev1.Role_ROLE_OWNER, Machine: true}} {
		token, expires, err := k.Sign(want, morning)
		if err != nil || !expires.Equal(morning.Add(access.Life)) {
			t.Fatalf("Sign = %v until %v", err, expires)
		}
		got, err := access.NewGuard(k, c.now).Who(token, false)
		want.Expires = expires
		got.Expires = got.Expires.UTC()
		if diff := cmp.Diff(want, got); err != nil || diff != "" {
			t.Errorf("Who = %v (-want +got):\n%s", err, diff)
		}
	}
	sooner := nell
	sooner.Expires = morning.Add(time.Minute)
	if _, expires, err := k.Sign(sooner, morning); err != nil || !expires.Equal(sooner.Expires) {
		t.Errorf("a token of a session that ends in a minute ends at %v, %v", expires, err)
	}
}

// A token that has ended is refused, also one that was good a moment ago; clocks may be half a minute apart.
func TestGuard_Expiry(t *testing.T) {
	k := newKey(t)
	c := &clock{morning}
	g := access.NewGuard(k, c.now)
	token := sign(t, k, nell, morning)
	for after, good := range map[time.Duration]bool{0: true, access.Life: true, access.Life + 29*time.Second: true, access.Life + 30*time.Second: false, time.Hour: false, -29 * time.Second: true} {
		for name, guard := range map[string]*access.Guard{"that knows it": g, "that does not": access.NewGuard(k, c.now)} {
			c.t = morning
			_, _ = g.Who(token, false)
			c.t = morning.Add(after)
			if _, err := guard.Who(token, false); (err == nil) != good || err != nil && !fault.Is(err, "ACCESS_EXPIRED") {
				t.Errorf("after %v, by a guard %s: %v", after, name, err)
			}
		}
	}
	c.t = morning.Add(-time.Hour)
	if _, err := access.NewGuard(k, c.now).Who(token, false); !fault.Is(err, "ACCESS_INVALID") {
		t.Errorf("a token of the future: %v", err)
	}
}

// forged are tokens that somebody else made.
func forged(t *testing.T, k *access.Key) map[string]string {
	t.Helper()
	good := sign(t, k, nell, morning)
	parts := strings.Split(good, ".")
	claims := jwt.MapClaims{"iss": "tackfree", "name": "Nell", "role": "owner", "exp": morning.Add(time.Hour).Unix(), "iat": morning.Unix()}
	unsigned, err := jwt.NewWithClaims(jwt.SigningMethodNone, claims).SignedString(jwt.UnsafeAllowNoneSignatureType)
	if err != nil {
		t.Fatal(err)
	}
	symmetric, err := jwt.NewWithClaims(jwt.SigningMethodHS256, claims).SignedString([]byte("guess"))
	if err != nil {
		t.Fatal(err)
	}
	last := good[len(good)-1]
	return map[string]string{
		"alg none": unsigned, "alg none, with a signature": unsigned + parts[2], "alg HS256": symmetric,
		"of another shop": sign(t, newKey(t), nell, morning),
		"no signature":    parts[0] + "." + parts[1] + ".", "another body": parts[0] + "." + strings.Split(unsigned, ".")[1] + "." + parts[2],
		"garbage": "garbage", "dots": "..", "too long": good + strings.Repeat("A", 20<<10), "changed at its end": good[:len(good)-2] + string([]byte{last, last ^ 1}),
	}
}

func TestGuard_RefusesForged(t *testing.T) {
	k, c := newKey(t), clock{morning}
	g := access.NewGuard(k, c.now)
	for name, token := range forged(t, k) {
		for _, machine := range []bool{false, true} {
			if claims, err := g.Who(token, machine); !fault.Is(err, "ACCESS_INVALID") || !errors.Is(err, fault.Unauthenticated) || claims.Role != 0 {
				t.Errorf("a token %s, machine %v: %+v, %v", name, machine, claims, err)
			}
		}
	}
}

// Signed with the shop's key, but without what a token must say.
func TestGuard_RefusesIncomplete(t *testing.T) {
	file, private := keyFile(t, "PRIVATE KEY", 0o600)
	k, err := access.Load(file)
	if err != nil {
		t.Fatal(err)
	}
	c := clock{morning}
	kid := func() any {
		parsed, _, err := jwt.NewParser().ParseUnverified(sign(t, k, nell, morning), jwt.MapClaims{})
		if err != nil {
			t.Fatal(err)
		}
		return parsed.Header["kid"]
	}()
	for name, change := range map[string]func(jwt.MapClaims, map[string]any){
		"whole":           func(jwt.MapClaims, map[string]any) {},
		"no end":          func(c jwt.MapClaims, _ map[string]any) { delete(c, "exp") },
		"another issuer":  func(c jwt.MapClaims, _ map[string]any) { c["iss"] = "somebody" },
		"no role":         func(c jwt.MapClaims, _ map[string]any) { delete(c, "role") },
		"unknown role":    func(c jwt.MapClaims, _ map[string]any) { c["role"] = "king" },
		"nobody":          func(c jwt.MapClaims, _ map[string]any) { delete(c, "name") },
		"both":            func(c jwt.MapClaims, _ map[string]any) { c["service"] = "costing" },
		"no key id":       func(_ jwt.MapClaims, h map[string]any) { delete(h, "kid") },
		"another key id":  func(_ jwt.MapClaims, h map[string]any) { h["kid"] = "x" },
		"a key id number": func(_ jwt.MapClaims, h map[string]any) { h["kid"] = 1 },
	} {
		claims := jwt.MapClaims{"iss": "tackfree", "name": "Nell", "role": "helper", "exp": morning.Add(time.Minute).Unix(), "iat": morning.Unix()}
		token := jwt.NewWithClaims(jwt.SigningMethodEdDSA, claims)
		token.Header["kid"] = kid
		change(claims, token.Header)
		text, err := token.SignedString(private)
		if err != nil {
			t.Fatal(err)
		}
		_, err = access.NewGuard(k, c.now).Who(text, false)
		if (err == nil) != (name == "whole") || err != nil && !fault.Is(err, "ACCESS_INVALID") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Who needs a token, and who needs none.
func TestGuard_WithoutAToken(t *testing.T) {
	k, c := newKey(t), clock{morning}
	locked, open := access.NewGuard(k, c.now), access.NewGuard(nil, c.now)
	for _, tc := range []struct {
		g       *access.Guard
		machine bool
		want    access.Claims
	}{
		{locked, true, access.Claims{Role: typev1.Role_ROLE_OWNER, Machine: true}},
		{locked, false, access.Claims{}},
		{open, true, access.Claims{Role: typev1.Role_ROLE_OWNER, Machine: true}},
		{open, false, access.Claims{Role: typev1.Role_ROLE_OWNER}},
	} {
		got, err := tc.g.Who("", tc.machine)
		if diff := cmp.Diff(tc.want, got); err != nil || diff != "" {
			t.Errorf("machine %v, trusting %v: %v %s", tc.machine, tc.g.Trusts(), err, diff)
		}
	}
	if _, err := open.Who(sign(t, k, nell, morning), true); !fault.Is(err, "NO_ACCESS_KEY") {
		t.Errorf("a token where there is no key: %v", err)
	}
}

// More tokens than a guard remembers change nothing but how long it takes.
func TestGuard_ForgetsWhatIsTooMuch(t *testing.T) {
	k, c := newKey(t), &clock{morning}
	g := access.NewGuard(k, c.now)
	for i := range 5000 {
		program := access.Claims{Name: strings.Repeat("x", i%40+1), Session: time.Duration(i).String(), Role: typev1.Role_ROLE_HELPER}
		if got, err := g.Who(sign(t, k, program, morning), false); err != nil || got.Session != program.Session {
			t.Fatalf("token %d = %+v, %v", i, got, err)
		}
	}
	if n := g.Remembered(); n > 4096 {
		t.Errorf("the guard remembers %d tokens", n)
	}
}

// A token is asked for anew before it ends, and not before.
func TestFresh(t *testing.T) {
	c, asked := &clock{morning}, 0
	away := errors.New("away")
	token := access.Fresh(func(context.Context) (string, time.Time, error) {
		if asked++; asked == 3 {
			return "", time.Time{}, away
		}
		return strings.Repeat("t", asked), c.t.Add(access.Life), nil
	}, c.now)
	for _, step := range []struct {
		at   time.Duration
		want string
	}{{0, "t"}, {3 * time.Minute, "t"}, {4*time.Minute + time.Second, "tt"}, {8 * time.Minute, "tt"}, {9 * time.Minute, ""}, {9 * time.Minute, "tttt"}} {
		c.t = morning.Add(step.at)
		if got, err := token(t.Context()); got != step.want || (err != nil) != (step.want == "") {
			t.Errorf("after %v: %q, %v; want %q", step.at, got, err, step.want)
		}
	}
}

func BenchmarkGuard_Known(b *testing.B) {
	k, c := newKey(b), clock{morning}
	g := access.NewGuard(k, c.now)
	token := sign(b, k, nell, morning)
	for b.Loop() {
		who, err := g.Who(token, false)
		if err == nil {
			err = access.Check(who, board, nil)
		}
		if err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkGuard_New(b *testing.B) {
	k, c := newKey(b), clock{morning}
	token := sign(b, k, nell, morning)
	for b.Loop() {
		if _, err := access.NewGuard(k, c.now).Who(token, false); err != nil {
			b.Fatal(err)
		}
	}
}
