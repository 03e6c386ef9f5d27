package materials_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var saysSafe = regexp.MustCompile(`(?i)\bsafe(ly)?\b`)

// No text of the service says that anything is safe: that is for local codes and whoever is
// licensed to judge.
func TestTexts_NothingIsSafe(t *testing.T) {
	for _, dir := range []string{".", "../server", "../consume", "../store"} {
		files, err := filepath.Glob(filepath.Join(dir, "*.go"))
		if err != nil || len(files) == 0 {
			t.Fatalf("%s: %v, %v", dir, files, err)
		}
		for _, file := range files {
			if !strings.HasSuffix(file, "_test.go") {
				textsOf(t, file)
			}
		}
	}
}

func textsOf(t *testing.T, file string) {
	t.Helper()
	source, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	parsed, err := parser.ParseFile(token.NewFileSet(), file, source, parser.SkipObjectResolution)
	if err != nil {
		t.Fatal(err)
	}
	ast.Inspect(parsed, func(n ast.Node) bool {
		if text, ok := n.(*ast.BasicLit); ok && text.Kind == token.STRING && saysSafe.MatchString(text.Value) {
			t.Errorf("%s says %s", file, text.Value)
		}
		return true
	})
}
