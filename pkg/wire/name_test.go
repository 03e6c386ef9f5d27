package wire_test

import (
	"testing"

	"tackfree/pkg/wire"
)

func TestNameKey_SameForTheSameName(t *testing.T) {
	same := [][]string{
		{"Nell", "nell", " NELL ", "Nell\u00a0"},
		{"Ñandú", "ñANDÚ", "N\u0303andu\u0301"},
		{"Straße", "STRASSE"},
		{"Clear  coat", "clear coat"},
	}
	for _, names := range same {
		for _, name := range names[1:] {
			if got, want := wire.NameKey(name), wire.NameKey(names[0]); got != want {
				t.Errorf("NameKey(%q) = %q, want that of %q, %q", name, got, names[0], want)
			}
		}
	}
	if wire.NameKey("Nell") == wire.NameKey("Nella") {
		t.Error("two names have one key")
	}
	if got := wire.Name("  Nell   van der  Oord "); got != "Nell van der Oord" {
		t.Errorf("Name = %q", got)
	}
}
