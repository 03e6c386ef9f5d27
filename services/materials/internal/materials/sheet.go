package materials

import (
	"strings"

	"tackfree/pkg/datasheet"
	"tackfree/pkg/fault"
)

// SetSheet says what the product's data sheet says; nil says that it is no coating. A sheet
// that is taken can be computed with: the films, the drying, the bonds and the air are
// tried on it. Faults, at fields of coating_sheet: those of datasheet.Sheet.Check.
func (p *Product) SetSheet(sheet *datasheet.Sheet) ([]Fact, error) {
	if sheet != nil {
		if err := sheet.Check(); err != nil {
			return nil, atSheet(err)
		}
	}
	p.Sheet = sheet
	return p.Tell(SheetSet{}), nil
}

func atSheet(err error) error {
	f := fault.Of(err)
	if f == nil || len(f.Fields) == 0 {
		return err
	}
	return f.At(strings.TrimSuffix("coating_sheet."+f.Fields[0].Path, "."))
}
