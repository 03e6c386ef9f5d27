package materials

// Catalogue is a file of products whose rows can be told apart.
type Catalogue struct {
	rows     []csvRow
	rejected []Rejection
	spelling Spelling
}

// Keys are those of the names in the file, in its order.
func (c Catalogue) Keys() []string {
	keys := make([]string, len(c.rows))
	for i, r := range c.rows {
		keys[i] = r.key
	}
	return keys
}

// ReadCatalogue reads a file of products as far as it goes without knowing those that the shop
// has; rows that cannot be told apart are rejected by Plan. Faults: FILE_TOO_LARGE, FILE_EMPTY, FILE_NOT_TEXT, COLUMN_UNKNOWN, COLUMN_TWICE, COLUMN_MISSING.
func ReadCatalogue(file []byte, s Spelling) (Catalogue, error) {
	c := Catalogue{spelling: s}
	var err error
	c.rows, c.rejected, err = catalogueForm().read(file, c.tellApart)
	return c, err
}

func catalogueForm() csvForm {
	f := csvForm{keys: 1, of: "products"}
	for _, column := range csvColumns {
		f.titles = append(f.titles, csvTitle{column.name, column.text})
	}
	return f
}

// tellApart finds the name of a row's product.
func (c Catalogue) tellApart(row *csvRow) (column int, reason string) {
	d := csvDraft{spelling: c.spelling}
	if err := readName(&d, *row.cells[0]); err != nil {
		return 0, err.Error()
	}
	row.name, row.key = d.Name, c.spelling.Key(d.Name)
	if d.Name == "" {
		return 0, "The product has no name; every row needs one."
	}
	return 0, ""
}
