package web

import (
	"io/fs"
	"os"
	"regexp"
	"strings"
	"testing"
)

var sends = regexp.MustCompile(`<form[^>]*method="post"[^>]*>`)

// Every form of every page that changes something carries the key, as its first field: an upload is refused before
// its file is read.
func TestForms_CarryTheKey(t *testing.T) {
	forms := 0
	pages := os.DirFS("..")
	err := fs.WalkDir(pages, ".", func(path string, _ fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".html") {
			return err
		}
		b, err := fs.ReadFile(pages, path)
		for _, at := range sends.FindAllIndex(b, -1) {
			forms++
			if !strings.HasPrefix(string(b[at[1]:]), `{{template "hidden"`) {
				t.Errorf("%s: %s… carries no key", path, b[at[0]:at[1]])
			}
		}
		return err
	})
	if err != nil || forms < 50 {
		t.Errorf("%d forms looked at: %v", forms, err)
	}
}
