package materials

import (
	"slices"
	"strings"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
)

// ProductChange is what a row of a file does to a product: the last of the facts made the Version that
// it has then. A new product has no id yet.
type ProductChange struct {
	Product Product
	Facts   []Fact
	New     bool
}

// CataloguePlan is what a whole file does.
type CataloguePlan struct {
	Changes   []ProductChange // in the order of the file
	Unchanged int
}

// Added counts the new products.
func (p CataloguePlan) Added() (n int) {
	for _, c := range p.Changes {
		if c.New {
			n++
		}
	}
	return n
}

// Plan compares the file with the products that the shop has of those names, by their keys, and
// the packages of them that suppliers offer. With a rejection, of which there may be one for each
// cell, nothing is to be done. They come by row and column.
func (c Catalogue) Plan(known map[string]Product, offered map[id.ID][]InUse) (CataloguePlan, []Rejection) {
	var plan CataloguePlan
	rejected := slices.Clone(c.rejected)
	for _, row := range c.rows {
		before, there := known[row.key]
		change, wrong := c.change(row, before, there, offered[before.ID])
		switch {
		case len(wrong) > 0:
			rejected = append(rejected, wrong...)
		case len(change.Facts) == 0:
			plan.Unchanged++
		default:
			plan.Changes = append(plan.Changes, change)
		}
	}
	if len(rejected) == 0 {
		return plan, nil
	}
	return CataloguePlan{}, catalogueForm().inOrder(rejected)
}

func (c Catalogue) change(row csvRow, before Product, there bool, offered []InUse) (ProductChange, []Rejection) {
	after, wrong := c.draft(row, before)
	if !there && after.Unit.Symbol == "" && row.cells[1] == nil {
		wrong = append(wrong, Rejection{Row: row.line, Column: "unit", Reason: "The product is new and needs a unit; add the column."})
	}
	if len(wrong) > 0 {
		return ProductChange{}, wrong
	}
	var change ProductChange
	var err error
	if there {
		change, err = changedBy(before, after, offered)
	} else {
		change, err = addedBy(after)
	}
	if err != nil {
		return ProductChange{}, []Rejection{row.rejects(catalogueForm(), err)}
	}
	return change, nil
}

// draft reads the cells over what is known.
func (c Catalogue) draft(row csvRow, before Product) (Product, []Rejection) {
	d := csvDraft{Product: before, spelling: c.spelling}
	d.openSheet()
	var wrong []Rejection
	for i, cell := range row.cells {
		column := csvColumns[i]
		if cell == nil || d.Unit.Symbol == "" && (column.name == "packages" || column.name == "restock_threshold") {
			continue // left out, or cannot be read without the unit
		}
		if err := column.read(&d, *cell); err != nil {
			wrong = append(wrong, Rejection{Row: row.line, Column: column.name, Reason: err.Error()})
		}
	}
	if err := d.closeSheet(); err != nil && len(wrong) == 0 {
		wrong = append(wrong, row.rejects(catalogueForm(), err))
	}
	return d.Product, wrong
}

// rejects points a fault at the column that its field has.
func (r csvRow) rejects(f csvForm, err error) Rejection {
	out := Rejection{Row: r.line, Reason: err.Error()}
	if told := fault.Of(err); told != nil && len(told.Fields) > 0 {
		path := told.Fields[0].Path
		for _, within := range []string{"details.", "coating_sheet."} {
			path = strings.TrimPrefix(path, within)
		}
		path, _, _ = strings.Cut(path, "[")
		if f.placeOf(path) >= 0 {
			out.Column = path
		}
	}
	return out
}

// addedBy makes a new product of a draft.
func addedBy(draft Product) (ProductChange, error) {
	sheet, details := draft.Sheet, draft.Details
	draft.Sheet, draft.Details = nil, Details{}
	p, facts, err := Add(draft)
	if err != nil {
		return ProductChange{}, err
	}
	if sheet != nil {
		more, err := p.SetSheet(sheet)
		if err != nil {
			return ProductChange{}, err
		}
		facts = append(facts, more...)
	}
	if !details.Empty() {
		more, err := p.Describe(details)
		if err != nil {
			return ProductChange{}, err
		}
		facts = append(facts, more...)
	}
	return ProductChange{Product: p, Facts: facts, New: true}, nil
}

// changedBy brings a product to what a draft says, with a fact for each thing that is another.
func changedBy(p, draft Product, offered []InUse) (ProductChange, error) {
	differs := map[says]bool{}
	for _, c := range csvColumns {
		if c.write(p) != c.write(draft) {
			differs[c.says] = true
		}
	}
	var facts []Fact
	if differs[saysThreshold] {
		more, err := p.SetThreshold(quantity.Quantity{Value: draft.Threshold, Unit: p.Unit})
		if err != nil {
			return ProductChange{}, err
		}
		facts = append(facts, more...)
	}
	if differs[saysSheet] {
		more, err := p.SetSheet(draft.Sheet)
		if err != nil {
			return ProductChange{}, err
		}
		facts = append(facts, more...)
	}
	if differs[saysDescribed] {
		if err := p.maySell(draft.Packages, offered); err != nil {
			return ProductChange{}, err
		}
		p.Name, p.Packages = draft.Name, draft.Packages
		more, err := p.Describe(draft.Details)
		if err != nil {
			return ProductChange{}, err
		}
		facts = append(facts, more...)
	}
	return ProductChange{Product: p, Facts: facts}, nil
}
