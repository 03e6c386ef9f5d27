package cli

import "strings"

// splitLine parts a line as a shell does, without the command's name: at blanks that are not quoted. The last
// word is the one that is being typed, and may be empty; open is the quote that it stands in, 0 where in none.
func splitLine(text string) (words []string, open rune) {
	var word strings.Builder
	begun, escaped := false, false
	for _, r := range text {
		switch {
		case escaped:
			word.WriteRune(r)
			escaped = false
		case r == '\\' && open != '\'':
			begun, escaped = true, true
		case open != 0 && r == open:
			open = 0
		case open != 0:
			word.WriteRune(r)
		case r == '\'' || r == '"':
			begun, open = true, r
		case r == ' ' || r == '\t':
			if begun {
				words = append(words, word.String())
			}
			word.Reset()
			begun = false
		default:
			begun = true
			word.WriteRune(r)
		}
	}
	words = append(words, word.String())
	return words[1:], open
}

// requoted is a word as bash puts it in place of what was typed: without what stands before a sign at which bash
// parts words, and so that it is one word.
func requoted(word, typed string, open rune) string {
	if open != 0 { // readline closes the quote by itself
		return word
	}
	if at := strings.LastIndexAny(typed, "=:"); at >= 0 && len(word) > at {
		word = word[at+1:]
	}
	var b strings.Builder
	for _, r := range word {
		if strings.ContainsRune(" \t\\'\"`$&|;<>()[]{}*?!#~", r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}
