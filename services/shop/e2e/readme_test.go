package e2e_test

import (
	"os"
	"strings"
	"testing"
)

// What the README shows of the demo is what the demo prints.
func TestReadme_ShowsTheDemo(t *testing.T) {
	readme, err := os.ReadFile("../../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	printed, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	top := strings.Join(strings.SplitAfterN(string(printed), "\n", 7)[:6], "")
	if !strings.Contains(string(readme), top) {
		t.Errorf("README.md does not show the first lines of the demo:\n%s", top)
	}
}
