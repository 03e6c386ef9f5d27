package materials

import (
	"fmt"
	"slices"
	"strings"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Offering is what the shop knows of the suppliers and products that a file names, by their keys.
type Offering struct {
	Suppliers map[string]Supplier
	Products  map[string]Product
	Offers    map[OfferKey]Offer
}

// OfferStep is one thing that a file does: it says a supplier, or an offer of theirs, anew. The
// supplier is as it is with that.
type OfferStep struct {
	Supplier Supplier
	New      bool // the supplier is
	Offer    *Offer
	Product  Product // of the offer
}

// OfferPlan is what a whole file does.
type OfferPlan struct {
	Steps                     []OfferStep // in the order of the file
	Added, Changed, Unchanged int         // rows
}

// Plan compares the file with what the shop knows. With a rejection, of which there may be one for
// each cell, nothing is to be done. They come by row and column. New suppliers get an id of newID.
func (f OfferFile) Plan(known Offering, newID func() id.ID) (OfferPlan, []Rejection) {
	p := offerPlanner{OfferFile: f, known: known, newID: newID, suppliers: map[string]*sellerDraft{}}
	rejected := slices.Clone(f.rejected)
	for _, row := range f.rows {
		rejected = append(rejected, p.note(row)...)
	}
	if len(rejected) > 0 {
		return OfferPlan{}, offerForm.inOrder(rejected)
	}
	return p.plan, nil
}

type offerPlanner struct {
	OfferFile
	known     Offering
	newID     func() id.ID
	suppliers map[string]*sellerDraft
	plan      OfferPlan
}

// sellerDraft is a supplier while the rows of it are read.
type sellerDraft struct {
	Supplier
	leadAt int // the row that says it; 0: none did
}

// note reads a row over what is known.
func (p *offerPlanner) note(row csvRow) (wrong []Rejection) {
	reject := func(column int, reason string) {
		wrong = append(wrong, Rejection{Row: row.line, Column: offerForm.titles[column].name, Reason: reason})
	}
	product, there := p.known.Products[p.key(row, offerProduct)]
	if !there {
		reject(offerProduct, fmt.Sprintf("There is no product %s; add it, or import the file of products first.", *row.cells[offerProduct]))
	}
	before := len(p.plan.Steps)
	supplier, reason := p.supplier(row)
	if reason != "" {
		reject(offerSupplierLead, reason)
	}
	was, known := p.known.Offers[OfferKey{supplier.ID, product.ID, strings.ToLower(*row.cells[offerLabel])}]
	offer, cells := p.draft(row, was)
	if wrong = append(wrong, cells...); len(wrong) > 0 {
		return wrong
	}
	switch {
	case known && offer.same(was):
		p.count(len(p.plan.Steps) > before, false)
		return nil
	case len(offer.Breaks) == 0:
		reject(offerBreaks, "The offer has no price; write that of one package, such as 24.")
		return wrong
	}
	offer, err := supplier.Offer(product, offer)
	if err != nil {
		return []Rejection{row.rejects(offerForm, err)}
	}
	p.plan.Steps = append(p.plan.Steps, OfferStep{Supplier: supplier.Supplier, Offer: &offer, Product: product})
	p.count(true, !known)
	return nil
}

func (p *offerPlanner) count(changed, added bool) {
	switch {
	case added:
		p.plan.Added++
	case changed:
		p.plan.Changed++
	default:
		p.plan.Unchanged++
	}
}

// supplier finds the supplier of a row, or makes one, and says their time of delivery if the row
// does; with a reason against it.
func (p *offerPlanner) supplier(row csvRow) (s *sellerDraft, reason string) {
	key := p.key(row, offerSupplier)
	s, seen := p.suppliers[key]
	if !seen {
		s = &sellerDraft{Supplier: p.known.Suppliers[key]}
		p.suppliers[key] = s
	}
	lead, reason := readLead(row, offerSupplierLead)
	isNew := s.ID == id.Nil
	switch {
	case reason != "":
		return s, reason
	case lead == nil && isNew:
		return s, fmt.Sprintf("%s is a new supplier; say how many days a delivery takes.", *row.cells[offerSupplier])
	case lead == nil:
		return s, ""
	case s.leadAt > 0 && *lead != s.LeadDays:
		return s, fmt.Sprintf("Row %d says %d days of the same supplier; say the same in both.", s.leadAt, s.LeadDays)
	}
	s.leadAt = row.line
	if isNew {
		s.Supplier = AddSupplier(Supplier{ID: p.newID(), Name: *row.cells[offerSupplier], LeadDays: *lead})
	} else if *lead != s.LeadDays {
		to := s.Supplier
		to.LeadDays = *lead
		s.Change(to)
	} else {
		return s, ""
	}
	p.plan.Steps = append(p.plan.Steps, OfferStep{Supplier: s.Supplier, New: isNew})
	return s, ""
}

// draft reads the cells of an offer over what is known of it.
func (p *offerPlanner) draft(row csvRow, o Offer) (Offer, []Rejection) {
	var wrong []Rejection
	o.Label = *row.cells[offerLabel]
	read := func(column int, reads func(cell string) error) {
		if row.cells[column] == nil {
			return
		}
		if err := reads(*row.cells[column]); err != nil {
			wrong = append(wrong, Rejection{Row: row.line, Column: offerForm.titles[column].name, Reason: err.Error()})
		}
	}
	read(offerArticle, func(cell string) (err error) { o.Article, err = readText("article", cell, 80, p.spelling); return err })
	read(offerBreaks, func(cell string) (err error) { o.Breaks, err = readBreaks(cell, p.currency); return err })
	if row.cells[offerLead] != nil {
		lead, reason := readLead(row, offerLead)
		if o.LeadDays = lead; reason != "" {
			wrong = append(wrong, Rejection{Row: row.line, Column: offerForm.titles[offerLead].name, Reason: reason})
		}
	}
	return o, wrong
}

// mostLead is how many days a delivery may take, by the contract.
const mostLead = 365

// readLead reads a number of days; nil: the file does not say.
func readLead(row csvRow, column int) (days *int32, reason string) {
	if row.cells[column] == nil || strings.TrimSpace(*row.cells[column]) == "" {
		return nil, ""
	}
	n, err := readWhole(offerForm.titles[column].name, *row.cells[column])
	switch {
	case err != nil:
		return nil, err.Error()
	case n > mostLead:
		return nil, fault.New(fault.Invalid, "OUT_OF_RANGE", "%s is %d; it has to be from 0 to %d.", offerForm.titles[column].name, n, mostLead).Error()
	}
	return &n, ""
}

// same reports whether both ask the same.
func (o Offer) same(other Offer) bool {
	return o.Article == other.Article && slices.Equal(o.Breaks, other.Breaks) &&
		(o.LeadDays == nil) == (other.LeadDays == nil) && (o.LeadDays == nil || *o.LeadDays == *other.LeadDays)
}
