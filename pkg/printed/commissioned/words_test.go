package commissioned

import (
	"maps"
	"regexp"
	"slices"
	"testing"
)

var verb = regexp.MustCompile(`%[0-9]*[a-z%]`)

// Each language says each text, with the same values in the same order.
func TestTexts_Whole(t *testing.T) {
	for _, language := range Languages[1:] {
		if a, b := slices.Sorted(maps.Keys(texts["en"])), slices.Sorted(maps.Keys(texts[language])); !slices.Equal(a, b) {
			t.Errorf("%s says %v, not %v", language, b, a)
		}
		for key, text := range texts[language] {
			if a, b := verb.FindAllString(texts["en"][key], -1), verb.FindAllString(text, -1); !slices.Equal(a, b) || text == "" {
				t.Errorf("%s in %s has %v, not %v", key, language, b, a)
			}
		}
	}
}
