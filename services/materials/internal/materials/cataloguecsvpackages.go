package materials

import (
	"strings"

	"tackfree/pkg/fault"
)

// mostPackages is how many sizes of one product the contract takes.
const mostPackages = 30

// marks are the signs that part a cell of packages; in a label each has a backslash before it.
var marks = strings.NewReplacer(`\`, `\\`, `;`, `\;`, `=`, `\=`)

// writePackages writes "quart can=0.946352946 L; half litre=0.5 L".
func writePackages(p Product) string {
	var all []string
	for _, pack := range p.Packages {
		all = append(all, marks.Replace(pack.Label)+"="+pack.Content.String()+" "+p.Unit.Symbol)
	}
	return strings.Join(all, "; ")
}

func readPackages(d *csvDraft, cell string) error {
	d.Packages = nil
	for _, item := range parted(cell, ';') {
		if strings.TrimSpace(item) == "" {
			continue
		}
		pack, err := readPackage(d, item)
		if err != nil {
			return err
		}
		d.Packages = append(d.Packages, pack)
	}
	if len(d.Packages) > mostPackages {
		return fault.New(fault.Invalid, "TOO_MANY_PACKAGES", "There are %d packages; %d is the most.", len(d.Packages), mostPackages)
	}
	return toldApart(d.Packages)
}

// readPackage reads "quart can=1 qt": the last mark parts the label from the content.
func readPackage(d *csvDraft, item string) (p Package, err error) {
	parts := parted(item, '=')
	last := len(parts) - 1
	if last == 0 {
		return p, malformed("packages", item, "each as a label, = and what is in it, such as quart can=1 qt; parted by semicolons")
	}
	if p.Label, err = readText("packages", unmarked(strings.Join(parts[:last], "=")), 60, d.spelling); err != nil {
		return p, err
	}
	if p.Label == "" {
		return p, malformed("packages", item, "a label before the =, such as quart can=1 qt")
	}
	p.Content, err = readAmount("packages", strings.TrimSpace(parts[last]), d.Unit)
	return p, err
}

// parted parts a text at a mark, but not where a backslash stands before it.
func parted(text string, mark byte) (parts []string) {
	from := 0
	for i := 0; i < len(text); i++ {
		switch text[i] {
		case '\\':
			i++
		case mark:
			parts = append(parts, text[from:i])
			from = i + 1
		}
	}
	return append(parts, text[from:])
}

// unmarked takes the backslashes away that marks has put there.
func unmarked(text string) string {
	var out strings.Builder
	for i := 0; i < len(text); i++ {
		if text[i] == '\\' && i+1 < len(text) {
			i++
		}
		out.WriteByte(text[i])
	}
	return out.String()
}
