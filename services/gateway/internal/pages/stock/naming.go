package stock

import (
	"net/http"
	"net/url"
	"strings"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/edits"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
)

// rename gives a product another name, unless somebody else did meanwhile.
func rename(w http.ResponseWriter, a *web.Asked) error {
	return unlessChanged(w, a, asChange{form: "rename", said: "product.renamed", fields: []edits.Field{{Name: "name"}},
		was: url.Values{"name": {a.Typed("was")}}, mine: url.Values{"name": {a.Typed("name")}},
		now: func(p *materialsv1.Product) url.Values { return url.Values{"name": {p.DisplayName}} },
		send: func(p *materialsv1.Product) error {
			_, err := a.Kit.Suite.Catalogue.RenameProduct(a.Context(), &materialsv1.RenameProductRequest{RequestId: a.RequestID(), Product: p.Name,
				DisplayName: a.Typed("name"), Etag: p.Etag})
			return err
		}})
}

// packed is a row of the form of packages.
type packed struct{ Label, Amount, Unit string }

// spareRows are how many packages can be added at once.
const spareRows = 2

// packedOf are the rows: what the product is sold in, or what was typed, and some that are empty.
func packedOf(p *materialsv1.Product, again refusedForm) (rows []packed) {
	for _, one := range p.Packages {
		rows = append(rows, packed{one.Label, one.Content.GetValue(), one.Content.GetUnit()})
	}
	if again.name == "packages" {
		rows = typedPackages(again.typed)
	}
	for range spareRows {
		rows = append(rows, packed{Unit: p.Unit})
	}
	return rows
}

// typedPackages are the rows of which something was typed.
func typedPackages(values url.Values) (rows []packed) {
	amounts, units := values["amount"], values["unit"]
	for i, label := range values["label"] {
		row := packed{Label: strings.TrimSpace(label)}
		if i < len(amounts) {
			row.Amount = strings.TrimSpace(amounts[i])
		}
		if i < len(units) {
			row.Unit = units[i]
		}
		if row.Label != "" || row.Amount != "" {
			rows = append(rows, row)
		}
	}
	return rows
}

// line writes a package, to be held against another reading.
func (p packed) line() string { return p.Label + ": " + p.Amount + " " + p.Unit }

func packageLines(all []*materialsv1.Package) (lines []string) {
	for _, p := range all {
		lines = append(lines, packed{p.Label, p.Content.GetValue(), p.Content.GetUnit()}.line())
	}
	return lines
}

// packages says in which sizes a product is sold, all of them at once.
func packages(w http.ResponseWriter, a *web.Asked) error {
	var all []*materialsv1.Package
	f := &typed.Form{Voice: a.Voice}
	for _, row := range typedPackages(a.PostForm) {
		f.Values = url.Values{"amount": {row.Amount}, "unit": {row.Unit}}
		content := f.Quantity("amount", "unit")
		if content == nil && f.Err() == nil {
			return changed(w, a, "packages", "", missing(a, "QUANTITY_MISSING", "product.packages.missing"))
		}
		all = append(all, &materialsv1.Package{Label: row.Label, Content: content})
	}
	if err := f.Err(); err != nil {
		return changed(w, a, "packages", "", err)
	}
	return unlessChanged(w, a, asChange{form: "packages", said: "product.packed", fields: []edits.Field{{Name: "packages", Many: true}},
		was: url.Values{"packages": a.PostForm["was"]}, mine: url.Values{"packages": packageLines(all)},
		now: func(p *materialsv1.Product) url.Values { return url.Values{"packages": packageLines(p.Packages)} },
		send: func(p *materialsv1.Product) error {
			_, err := a.Kit.Suite.Catalogue.SetPackages(a.Context(), &materialsv1.SetPackagesRequest{RequestId: a.RequestID(), Product: p.Name, Packages: all, Etag: p.Etag})
			return err
		}})
}

// newProduct puts a product into the list; the rest is said on its own page.
func newProduct(w http.ResponseWriter, a *web.Asked) error {
	f := &typed.Form{Values: a.PostForm, Voice: a.Voice}
	packages := firstPackage(f)
	if err := f.Err(); err != nil {
		return sources(w, a, "product", "", err)
	}
	r, err := a.Kit.Suite.Materials.AddProduct(a.Context(), &materialsv1.AddProductRequest{RequestId: a.RequestID(), DisplayName: a.Typed("name"), Unit: a.Typed("unit"),
		Packages: packages})
	if err != nil {
		return sources(w, a, "product", "", err)
	}
	return a.After(w, "/stock/"+idOf(r.Product.Name), "product.added")
}

// firstPackage is the one that the form of a new product has room for; one without a label or an amount the service refuses.
func firstPackage(f *typed.Form) []*materialsv1.Package {
	label, content := f.Text("label"), f.Quantity("amount", "unit")
	if label == "" && content == nil {
		return nil
	}
	return []*materialsv1.Package{{Label: label, Content: content}}
}
