package cli

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
)

// bought is a line of a bill or an order as people write it: so much of a product, by packages or
// as an amount, and perhaps what it costs and more about it.
type bought struct {
	product  string
	packages int32  // 0: it is an amount
	label    string // of the package
	amount   string
	cost     string            // empty: it does not say
	more     map[string]string // place, expires, batch
}

// boughtLine is its form. The amount tells where the product's name ends, which may have colons.
var boughtLine = regexp.MustCompile(`^(.+?)\s*:\s*(?:(\d+)\s*(?:x\s|×|\*)\s*([^;]+?)|(\d[\d.]*\s*[A-Za-z]+))\s*(?:=\s*([^=;]+?)\s*)?(?:;(.*))?$`)

// readBought reads a line; example is one that is right.
func readBought(text, example string) (b bought, err error) {
	m := boughtLine.FindStringSubmatch(strings.TrimSpace(text))
	if m == nil {
		return b, fmt.Errorf("%q is not of the form '%s'", text, example)
	}
	b = bought{product: m[1], label: m[3], amount: m[4], cost: m[5], more: map[string]string{}}
	if m[2] != "" {
		n, err := strconv.ParseInt(m[2], 10, 32)
		if err != nil {
			return b, fmt.Errorf("%s packages are more than anybody buys", m[2])
		}
		b.packages = int32(n)
	}
	for _, text := range client.Said(strings.Split(m[6], ";")) {
		word, value, both := strings.Cut(strings.TrimSpace(text), " ")
		if !both || word != "place" && word != "expires" && word != "batch" {
			return b, fmt.Errorf("%q is none of: place WORD, expires DAY, batch NUMBER", strings.TrimSpace(text))
		}
		b.more[word] = strings.TrimSpace(value)
	}
	return b, nil
}

// delivered puts a line as it was read into one of a bill.
func (b bought) delivered(ctx context.Context, shop *client.Shop, products []*materialsv1.Product) (*materialsv1.DeliveryLine, error) {
	p, err := client.ProductOf(products, b.product)
	if err != nil {
		return nil, err
	}
	l := &materialsv1.DeliveryLine{Product: p.Name, BatchCode: b.more["batch"]}
	if err := b.much(l); err != nil {
		return nil, err
	}
	if b.cost == "" {
		return nil, fmt.Errorf("say what %s cost on the bill: '%s: … = 39.98'", p.DisplayName, p.DisplayName)
	}
	terms, err := shop.Terms(ctx)
	if err != nil {
		return nil, err
	}
	if l.Cost, err = terms.Amount(b.cost); err != nil {
		return nil, err
	}
	if l.ExpireDate, err = client.Day(b.more["expires"]); err != nil {
		return nil, err
	}
	l.Place, err = optionalPlace(ctx, shop, b.more["place"])
	return l, err
}

// much puts how much it is of into a line.
func (b bought) much(l *materialsv1.DeliveryLine) error {
	if b.packages > 0 || b.label != "" {
		l.Amount = &materialsv1.DeliveryLine_Packages{Packages: &materialsv1.ReceiveStockRequest_Packages{Label: b.label, Count: b.packages}}
		return nil
	}
	q, err := quantity(b.amount)
	l.Amount = &materialsv1.DeliveryLine_Quantity{Quantity: q}
	return err
}

// optionalPlace finds where lots stand; none stays absent.
func optionalPlace(ctx context.Context, shop *client.Shop, ref string) (string, error) {
	if ref == "" {
		return "", nil
	}
	p, err := shop.Place(ctx, ref)
	return p.GetName(), err
}

// bill are the flags of a bill.
type bill struct {
	Line     []string `help:"A line of a bill of several products, such as 'Clear coat: 2 x quart can = 39.98' or 'Thinner: 5L = 20; place yellow-cabinet; expires 2028-03-01; batch A12'. Repeat for each." placeholder:"LINE" sep:"none"`
	Freight  string   `help:"Freight of the whole bill; it is spread over the lines by what they cost." placeholder:"AMOUNT"`
	Discount string   `help:"What is off the whole bill; spread likewise." placeholder:"AMOUNT"`
	Order    string   `help:"The number of the order that it fulfils; without a product and lines: all of it that has not come yet, at its prices." placeholder:"NUMBER"`
	Place    string   `help:"Where it stands, by the place's word; of lines, where they do not say." placeholder:"WORD"`
	Expires  string   `help:"The day on which it expires, as printed on the can; without it, by the product's shelf life." placeholder:"DAY"`
	Batch    string   `help:"The maker's number of the batch." placeholder:"NUMBER"`
}

// said reports that anything of a bill is said.
func (c bill) said() bool {
	return c.Line != nil || c.Freight+c.Discount+c.Order+c.Place+c.Expires+c.Batch != ""
}

const billExample = "Clear coat: 2 x quart can = 39.98"

// lines reads the lines that were typed; what is said for the whole holds where they say nothing.
func (c bill) lines() (all []bought, err error) {
	for _, text := range c.Line {
		b, err := readBought(text, billExample)
		if err != nil {
			return nil, err
		}
		all = append(all, b)
	}
	if c.Expires+c.Batch != "" && len(all) > 1 {
		return nil, errors.New("say expires and batch in each line: '" + billExample + "; expires 2028-03-01; batch A12'")
	}
	return all, nil
}

// fill says of a line what it does not say itself.
func (c bill) fill(b bought) bought {
	if b.more == nil {
		b.more = map[string]string{}
	}
	for word, value := range map[string]string{"place": c.Place, "expires": c.Expires, "batch": c.Batch} {
		if value != "" && b.more[word] == "" {
			b.more[word] = value
		}
	}
	return b
}
