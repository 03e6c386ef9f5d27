package materials

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
)

// The columns of a file of offers, by their places. They have the names of the contract's fields.
const (
	offerSupplier = iota
	offerProduct
	offerLabel
	offerSupplierLead
	offerArticle
	offerLead
	offerBreaks
)

var offerForm = csvForm{keys: 3, of: "offers", titles: []csvTitle{
	{"supplier", true}, {"product", true}, {"package_label", true}, {"supplier_lead_days", false}, {"article", true}, {"lead_days", false}, {"price_breaks", false}}}

// OfferLine is an offer beside who makes it and what it is of.
type OfferLine struct {
	Offer    Offer
	Supplier Supplier
	Product  Product
}

// WriteOffers writes offers as CSV (RFC 4180) in UTF-8, with a header, in their order. The same
// offers give the same bytes.
func WriteOffers(lines []OfferLine, c money.Currency) []byte {
	records := make([][]string, len(lines))
	for n, l := range lines {
		lead := ""
		if l.Offer.LeadDays != nil {
			lead = strconv.Itoa(int(*l.Offer.LeadDays))
		}
		records[n] = []string{l.Supplier.Name, l.Product.Name, l.Offer.Label, strconv.Itoa(int(l.Supplier.LeadDays)), l.Offer.Article, lead, writeBreaks(l.Offer.Breaks, c)}
	}
	return offerForm.write(records)
}

// writeBreaks writes "24.00; 6=21.50": the price of one, and what each costs from so many on.
func writeBreaks(breaks []PriceBreak, c money.Currency) string {
	var all []string
	for _, b := range breaks {
		price := c.Format(b.Price)
		if b.From > 1 {
			price = strconv.Itoa(int(b.From)) + "=" + price
		}
		all = append(all, price)
	}
	return strings.Join(all, "; ")
}

// mostBreaks is how many prices of one package the contract takes.
const mostBreaks = 20

func readBreaks(cell string, c money.Currency) (breaks []PriceBreak, err error) {
	for item := range strings.SplitSeq(cell, ";") {
		if item = strings.TrimSpace(item); item == "" {
			continue
		}
		from, price, several := strings.Cut(item, "=")
		if !several {
			from, price = "1", item
		}
		b := PriceBreak{}
		if b.From, err = readWhole("price_breaks", from); err != nil {
			return nil, err
		}
		if b.Price, err = c.Parse(strings.TrimSpace(price)); err != nil {
			return nil, malformed("price_breaks", cell, "the price of one and those from more on, such as 24; 6=21.50")
		}
		breaks = append(breaks, b)
	}
	if len(breaks) > mostBreaks {
		return nil, fault.New(fault.Invalid, "TOO_MANY_BREAKS", "There are %d prices; %d is the most.", len(breaks), mostBreaks)
	}
	return breaks, rising(breaks)
}

// OfferFile is a file of offers whose rows can be told apart.
type OfferFile struct {
	rows     []csvRow
	rejected []Rejection
	spelling Spelling
	currency money.Currency
}

// ReadOffers reads a file of offers as far as it goes without knowing what the shop has; rows that
// cannot be told apart are rejected by Plan. Faults are those of ReadCatalogue.
func ReadOffers(file []byte, s Spelling, c money.Currency) (OfferFile, error) {
	f := OfferFile{spelling: s, currency: c}
	var err error
	f.rows, f.rejected, err = offerForm.read(file, f.tellApart)
	return f, err
}

// tellApart finds the supplier, the product and the package of a row, and leaves them as they are
// spelt in its cells.
func (f OfferFile) tellApart(row *csvRow) (column int, reason string) {
	for at, most := range []int{120, 120, 60} {
		text, err := readText(offerForm.titles[at].name, *row.cells[at], most, f.spelling)
		if err != nil {
			return at, err.Error()
		}
		if text == "" {
			return at, "The cell is empty; an offer is of a supplier, a product and a package."
		}
		row.cells[at] = &text
	}
	row.name = *row.cells[offerLabel] + " of " + *row.cells[offerProduct] + " from " + *row.cells[offerSupplier]
	row.key = strings.Join([]string{f.key(*row, offerSupplier), f.key(*row, offerProduct), strings.ToLower(*row.cells[offerLabel])}, "\n")
	return 0, ""
}

func (f OfferFile) key(row csvRow, column int) string { return f.spelling.Key(*row.cells[column]) }

// Suppliers are the keys of the suppliers in the file, and Products those of the products, by name.
func (f OfferFile) Suppliers() []string { return f.keys(offerSupplier) }

// Products are the keys of the products in the file, by name.
func (f OfferFile) Products() []string { return f.keys(offerProduct) }

func (f OfferFile) keys(column int) []string {
	keys := make([]string, len(f.rows))
	for n, row := range f.rows {
		keys[n] = f.key(row, column)
	}
	slices.SortFunc(keys, cmp.Compare)
	return slices.Compact(keys)
}

// OfferKey is what offers are told apart by; the label is in lower case.
type OfferKey struct {
	Supplier, Product id.ID
	Label             string
}

// Key is that of the offer.
func (o Offer) Key() OfferKey { return OfferKey{o.Supplier, o.Product, strings.ToLower(o.Label)} }
