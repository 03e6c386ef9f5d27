// Package page reads and writes the page fields of list requests: keyset pages, whose
// token is opaque to the client. Plumbing.
package page

import (
	"bytes"
	"encoding/base64"
	"encoding/json"

	"tackfree/pkg/fault"
)

const (
	usual = 50
	most  = 1000
)

// Size gives the number of items for a request's page_size: 50 for 0, at most 1,000. The
// contracts refuse a size below zero.
func Size(n int32) int32 {
	if n <= 0 {
		return usual
	}
	return min(n, most)
}

// Token writes where the next page begins: the sort key of the last item given.
func Token(key any) string {
	b, err := json.Marshal(key)
	if err != nil {
		panic(err) // keys are plain structs
	}
	return base64.RawURLEncoding.EncodeToString(b)
}

// Read fills key from a token and leaves it alone for an empty one. A token that this
// list did not write is a fault INVALID_PAGE_TOKEN.
func Read(token string, key any) error {
	if token == "" {
		return nil
	}
	b, err := base64.RawURLEncoding.DecodeString(token)
	if err == nil {
		err = json.Unmarshal(b, key)
	}
	if err != nil || bytes.Contains(b, []byte(`\u0000`)) { // text that no database keeps
		return fault.New(fault.Invalid, "INVALID_PAGE_TOKEN",
			"The page token is not one that this list gave; start again without one.").At("page_token").Because(err)
	}
	return nil
}

// Next gives the token after a page of items: empty when the page was not full.
func Next[T any](items []T, size int32, key func(T) any) string {
	if len(items) < int(size) {
		return ""
	}
	return Token(key(items[len(items)-1]))
}
