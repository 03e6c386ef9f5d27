//go:build unix

package localpg

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
)

// A folder may be called anything; who reads the URL finds it, whether they take a plus
// for a blank, as browsers do, or not, as libpq does.
func TestServer_URLOfAnyFolder(t *testing.T) {
	for folder, want := range map[string]string{
		"/srv/my shop/run": "host=%2Fsrv%2Fmy%20shop%2Frun",
		"/srv/a+b/run":     "host=%2Fsrv%2Fa%2Bb%2Frun",
		"/srv/50% & más":   "host=%2Fsrv%2F50%25%20%26%20m%C3%A1s",
	} {
		s := &Server{password: "a b+c", socket: folder, port: 5432}
		url := s.URL("tack free")
		if _, query, _ := strings.Cut(url, "?"); !strings.Contains(query, want) || strings.Contains(query, "+") {
			t.Errorf("URL of %s = %s, want %s in it and no plus for a blank", folder, url, want)
		}
		c, err := pgx.ParseConfig(url)
		if err != nil || c.Host != folder || c.Password != "a b+c" || c.Database != "tack free" {
			t.Errorf("URL of %s = %s is read as %+v, %v", folder, url, c, err)
		}
	}
}

func TestStart_InAFolderWithABlank(t *testing.T) {
	dir := filepath.Join(filepath.Dir(madeDir(t)), "my shop")
	if err := os.Rename(filepath.Join(filepath.Dir(dir), "pg"), dir); err != nil {
		t.Fatal(err)
	}
	s := startShop(t, Options{Dir: dir, Throwaway: true})
	if got := valueOf(t, s.URL("postgres"), "show port"); got == "" {
		t.Error("it answers nothing")
	}
}
