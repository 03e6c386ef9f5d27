package id_test

import (
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

func TestName_ReadsBack(t *testing.T) {
	p, s := id.New(), id.New()
	got, err := id.FromName("stage", id.Name("pieces", p, "stages", s), "pieces", "stages")
	if err != nil || got[0] != p || got[1] != s {
		t.Fatalf("FromName(Name(%v, %v)) = %v, %v", p, s, got, err)
	}
}

func TestNew_IsVersion7AndSorts(t *testing.T) {
	a, b := id.New(), id.New()
	if a.Version() != 7 {
		t.Errorf("New().Version() = %d, want 7", a.Version())
	}
	if a.String() >= b.String() {
		t.Errorf("New() = %v, then %v; want rising", a, b)
	}
}

func TestFromName_RefusesOtherForms(t *testing.T) {
	u := id.New().String()
	for _, name := range []string{"", "pieces", "pieces/", "pieces/7", "people/" + u, "pieces/" + u + "/", "pieces/{" + u + "}", u} {
		_, err := id.One("piece", name, "pieces")
		if f := fault.Of(err); f == nil || f.Reason != "INVALID_NAME" || f.Fields[0].Path != "piece" {
			t.Errorf("One(%q) = %v, want INVALID_NAME at piece", name, err)
		}
	}
}

func TestFrom_IsTheSameForTheSameParts(t *testing.T) {
	a, b := id.New(), id.New()
	if first, again := id.From(id.Nil, a, b), id.From(id.Nil, a, b); first != again {
		t.Errorf("From(a, b) = %v, then %v", first, again)
	}
	if id.From(id.Nil, a, b) == id.From(id.Nil, b, a) {
		t.Error("From(a, b) = From(b, a), want the order to count")
	}
}
