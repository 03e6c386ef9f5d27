package cli

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"strings"
	"time"

	"tackfree/pkg/printed"
	"tackfree/pkg/printed/tagged"
)

type printCmd struct {
	Tags printTagsCmd `cmd:"" help:"Print the tags that hang on pieces."`
	Bags printBagsCmd `cmd:"" help:"Print labels for the bags with a piece's hardware."`
	Cans printCansCmd `cmd:"" help:"Print labels for cans."`

	Receipt     printReceiptCmd     `cmd:"" help:"Print the receipt of the last sale of a piece, or with --sale of an earlier one."`
	Estimate    printEstimateCmd    `cmd:"" help:"Print an estimate for the client."`
	ChangeOrder printChangeOrderCmd `cmd:"" help:"Print a change order for the client."`
	Invoice     printInvoiceCmd     `cmd:"" help:"Print the invoice of a commission: what was approved, less what was paid; or what is owed of one that was cancelled."`
}

// printing is where labels go and on what.
type printing struct {
	Out     string `help:"The PDF to write." type:"path" placeholder:"FILE" required:""`
	Force   bool   `help:"Write over the file if it is there."`
	Label   string `help:"Width and height of a label: in millimetres, such as 63.5x38.1, or in inches, such as 4x2in." placeholder:"WxH"`
	Paper   string `help:"a4 or letter; without it letter where the label is in inches, else a4." placeholder:"PAPER" env:"TACKFREE_PAPER"`
	Start   int    `help:"Begin at this label of the sheet, where some are gone." default:"1"`
	Address string `help:"Where phones reach the pages, such as http://192.168.1.20:7410: the code on a label leads there. Without it there is no code." placeholder:"URL" env:"TACKFREE_ADDRESS"`
}

// printHelpText is what is said of labels under the commands that print them.
func printHelpText(first, size string) string {
	return first + " Without --label one has " + size + " mm and is cut out of paper or card, along lines that are printed, with a printer's margins left free. " +
		"There are sheets of ready labels of " + strings.Join(printed.Sizes(printed.A4), ", ") + " mm on A4, and of " + strings.Join(printed.Sizes(printed.Letter), ", ") +
		" mm on Letter (2.625x1in, 4x2in and 4x3.3333in): of such a size they fit these. Print at 100 %, not fitted to the page."
}

// toFillIn is a line to write on.
const toFillIn = "______________"

// labelWords are the words on labels.
var labelWords = tagged.Words{Client: "for %s", Promised: "Promised %s", LeadFound: "LEAD in the old coating", LeadPresumed: "Not tested: presume LEAD", More: "and %d more",
	LeadRules: "No dry sanding, no scraping, no heat. Local codes come first.", Bag: "Bag %d of %d", TakenOff: "Taken off %s",
	Opened: "Opened on: " + toFillIn, OpenedBy: "By: " + toFillIn, ReadSheet: "Read the safety data sheet before use.", Hazards: "Hazards: %s."}

// stock reads what is printed on; size is that of a label where nobody says.
func (p printing) stock(size string) (printed.Stock, error) {
	size = cmp.Or(p.Label, size)
	width, height, err := printed.ReadSize(size)
	if err != nil {
		return printed.Stock{}, err
	}
	paper := printed.PaperOf(!strings.HasSuffix(strings.ToLower(strings.TrimSpace(size)), "in"))
	if p.Paper != "" {
		if paper, err = printed.PaperNamed(strings.ToLower(p.Paper)); err != nil {
			return printed.Stock{}, err
		}
	}
	return printed.StockFor(paper, width, height)
}

// code is where the code of a label leads; empty: nobody said where phones reach the pages.
func (p printing) code(path string) (string, error) {
	if p.Address == "" {
		return "", nil
	}
	u, err := url.Parse(p.Address)
	if err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https" || u.RawQuery != "" || u.Fragment != "" || u.User != nil {
		return "", fmt.Errorf("%q is not an address such as http://192.168.1.20:7410", p.Address)
	}
	return u.JoinPath(path).String(), nil
}

// write makes the file and says what is in it. Things are what is on the labels, such as tags.
func (p printing) write(e *env, things, size string, labels []printed.Label) error {
	stock, err := p.stock(size)
	if err != nil {
		return err
	}
	if p.Start < 1 {
		p.Start = -1 // no sheet has a label of that number
	}
	s := printed.Sheet{Info: printed.Info{Title: things, Language: "en", Created: time.Now()}, Stock: stock, Start: p.Start, Hole: things == "tags" && stock.Cut, Labels: labels}
	var b bytes.Buffer
	if err := printed.Labels(&b, s); err != nil {
		return err
	}
	if err := p.save(b.Bytes()); err != nil {
		return err
	}
	_, err = fmt.Fprintf(e.out, "%s for %s, on %s of %s, are in %s; print it at 100 %%.\n", plural(len(labels), "label"), things, plural(sheetsOf(p.Start, len(labels), stock), "sheet"), stock.Paper.Name, p.Out)
	return err
}

func sheetsOf(start, labels int, s printed.Stock) int { return (start + labels + s.Of() - 2) / s.Of() }

// plural says how many there are of something.
func plural(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}

// save writes the file; one that is there stays as it is unless --force was said.
func (p printing) save(file []byte) error {
	if p.Force {
		return writeWhole(p.Out, func(w io.Writer) error {
			_, err := w.Write(file)
			return err
		})
	}
	f, err := os.OpenFile(p.Out, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, os.ErrExist) {
		return fmt.Errorf("%s is there already; say another --out, or --force to write over it", p.Out)
	}
	if err != nil {
		return err
	}
	_, err = f.Write(file)
	if err = errors.Join(err, f.Close()); err != nil {
		return errors.Join(err, os.Remove(p.Out)) // half a file is none
	}
	return nil
}
