package page_test

import (
	"encoding/base64"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/page"
)

func TestSize(t *testing.T) {
	for n, want := range map[int32]int32{0: 50, 1: 1, 50: 50, 1000: 1000, 1001: 1000, 1 << 30: 1000, -1: 50} {
		if got := page.Size(n); got != want {
			t.Errorf("Size(%d) = %d, want %d", n, got, want)
		}
	}
}

// key is what a list is sorted by.
type key struct {
	At  int64
	Who string
	ID  id.ID
}

func TestRead_WhatTokenWrote(t *testing.T) {
	want := key{At: -7, Who: "José / 50%", ID: id.New()}
	var got key
	if err := page.Read(page.Token(want), &got); err != nil || got != want {
		t.Errorf("Read = %+v, %v; want %+v", got, err, want)
	}
	got = want
	if err := page.Read("", &got); err != nil || got != want {
		t.Errorf("Read of no token = %+v, %v; want it left alone", got, err)
	}
}

func TestRead_ForeignTokens(t *testing.T) {
	raw := func(s string) string { return base64.RawURLEncoding.EncodeToString([]byte(s)) }
	for name, token := range map[string]string{
		"NoBase64": "?", "Padded": base64.URLEncoding.EncodeToString([]byte(`{"At":1}`)), "NoJSON": raw("{"), "AnotherList": raw(`"dresser"`),
		"TooLarge": raw(`{"At":99999999999999999999}`), "Fraction": raw(`{"At":1.5}`), "NoID": raw(`{"ID":"x"}`),
		"Trailing": raw(`{"At":1} 2`), "NUL": raw(`{"Who":"a\u0000"}`),
	} {
		t.Run(name, func(t *testing.T) {
			err := page.Read(token, &key{})
			if f := fault.Of(err); f == nil || f.Reason != "INVALID_PAGE_TOKEN" || f.Kind != fault.Invalid || f.Fields[0].Path != "page_token" {
				t.Errorf("Read = %v, want INVALID_PAGE_TOKEN", err)
			}
		})
	}
}

func TestNext(t *testing.T) {
	self := func(n int) any { return n }
	if got := page.Next([]int{1, 2}, 3, self); got != "" {
		t.Errorf("after a page that is not full: %q, want none", got)
	}
	if got := page.Next([]int(nil), 3, self); got != "" {
		t.Errorf("after an empty page: %q, want none", got)
	}
	var last int
	if err := page.Read(page.Next([]int{1, 2, 3}, 3, self), &last); err != nil || last != 3 {
		t.Errorf("the token holds %d, %v; want the last item", last, err)
	}
}

// FuzzRead: any token is read or refused, and what is read can be written again.
func FuzzRead(f *testing.F) {
	f.Add(page.Token(key{At: 1, Who: "Ana"}))
	f.Add("bnVsbA")
	f.Add("?")
	f.Fuzz(func(t *testing.T, token string) {
		var got key
		if err := page.Read(token, &got); err != nil {
			if !fault.Is(err, "INVALID_PAGE_TOKEN") {
				t.Fatalf("Read = %v, want INVALID_PAGE_TOKEN", err)
			}
			return
		}
		var again key
		if err := page.Read(page.Token(got), &again); err != nil || again != got {
			t.Fatalf("%+v was read, and %+v, %v after writing it", got, again, err)
		}
	})
}
