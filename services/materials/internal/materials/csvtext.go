package materials

import (
	"bytes"
	"encoding/csv"
	"errors"
	"unicode/utf8"

	"tackfree/pkg/fault"
)

var utf8BOM = []byte("\ufeff")

// isText refuses what is no text in UTF-8.
func isText(file []byte) error {
	notText := func(format string, args ...any) error {
		return fault.New(fault.Invalid, "FILE_NOT_TEXT", format+"; save the file as CSV in UTF-8.", args...).At("csv")
	}
	switch {
	case len(file) > MaxCatalogue:
		return fault.New(fault.Invalid, "FILE_TOO_LARGE", "The file has more than %d MiB; split it into files with a header each.", MaxCatalogue>>20).At("csv")
	case bytes.HasPrefix(file, []byte{0xff, 0xfe}) || bytes.HasPrefix(file, []byte{0xfe, 0xff}):
		return notText("The file is in UTF-16")
	case bytes.IndexByte(file, 0) >= 0:
		return notText("Line %d has the character NUL", lineAt(file, bytes.IndexByte(file, 0)))
	case !utf8.Valid(file):
		return notText("Line %d has a character that is not in UTF-8", lineAt(file, len(file)-len(afterValid(file))))
	}
	return nil
}

// afterValid is the file from its first byte on that is no UTF-8.
func afterValid(file []byte) []byte {
	for len(file) > 0 {
		r, n := utf8.DecodeRune(file)
		if r == utf8.RuneError && n == 1 {
			break
		}
		file = file[n:]
	}
	return file
}

func lineAt(file []byte, at int) int { return 1 + bytes.Count(file[:at], []byte("\n")) }

// broken is what the rules of CSV say against a file.
func broken(err error) Rejection {
	var parse *csv.ParseError
	if !errors.As(err, &parse) {
		return Rejection{Row: 1, Reason: err.Error() + "."}
	}
	reason := "A quote stands inside a cell; put the cell in quotes and double those inside it."
	if errors.Is(parse.Err, csv.ErrQuote) {
		reason = "A cell in quotes does not end, or text follows its last quote; close the quotes, and double those inside."
	}
	return Rejection{Row: parse.StartLine, Reason: reason}
}
