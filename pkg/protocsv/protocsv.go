// Package protocsv writes messages of one type as rows of comma-separated values, whatever
// the type is. Plumbing.
//
//	message type ─▶ Columns: one for each scalar, in the order of the contract
//	messages ─────▶ Write:   a header of the fields' names, a line for each message
//
// The names are those of the contract, which only ever grows; a field of a message within is
// named behind a point (purchase.source). Lines are those of RFC 4180. What a field becomes:
//
//	amount of money       price, price.currency        plain decimal with all digits, ISO 4217 code
//	quantity              amount, amount.unit          the exact decimal, its unit
//	length of time        labour_time.seconds          seconds, exact
//	measured, forecast    six places, or six digits of what is below a thousandth
//	instant, day          RFC 3339; 2026-03-02, 17:30
//	word of a list        in_work                      none is empty
//	several of them       joined by "; "
//	several messages      a JSON list, in one field
//
// What is absent is empty. Text that a spreadsheet would take for a formula begins with an
// apostrophe (see Free).
package protocsv

import (
	"encoding/csv"
	"io"
	"iter"
	"regexp"
	"strings"

	"google.golang.org/protobuf/reflect/protoreflect"
)

// Write writes the header for messages of a type and a line for each of them.
func Write(w io.Writer, of protoreflect.MessageDescriptor, messages iter.Seq[protoreflect.Message]) error {
	columns := Columns(of)
	out := csv.NewWriter(w)
	out.UseCRLF = true
	line := make([]string, len(columns))
	for i, c := range columns {
		line[i] = c.Name
	}
	if err := out.Write(line); err != nil {
		return err
	}
	for m := range messages {
		for i, c := range columns {
			line[i] = c.of(m)
		}
		if err := out.Write(line); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// number is what a program takes for one, and nobody for a formula.
var number = regexp.MustCompile(`^[-+]?[0-9]+([.][0-9]+)?$`)

// Free is text that somebody typed. A spreadsheet would take some beginnings for a formula and
// run it; an apostrophe before them makes it text: OWASP, CSV Injection. A number stays one.
func Free(text string) string {
	if text != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", []rune(text)[0]) && !number.MatchString(text) {
		return "'" + text
	}
	return text
}
