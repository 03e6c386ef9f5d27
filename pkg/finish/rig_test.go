package finish_test

import (
	"testing"

	"tackfree/pkg/finish"
)

func grits(t testing.TB, texts ...string) (all []finish.Grit) {
	t.Helper()
	for _, text := range texts {
		g, err := finish.ParseGrit(text)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, g)
	}
	return all
}
