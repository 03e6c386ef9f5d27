package materials

import (
	"strings"
	"time"

	"tackfree/pkg/coating"
	"tackfree/pkg/datasheet"
	"tackfree/pkg/drying"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/quantity"
)

// csvColumns are all columns in the order in which they are written and, wherever they are in a
// file, read: amounts need the unit before them. They have the names of the contract's fields.
var csvColumns = []csvColumn{
	{name: "name", text: true, write: func(p Product) string { return p.Name }, read: readName},
	{name: "unit", write: func(p Product) string { return p.Unit.Symbol }, read: readUnit},
	{name: "packages", text: true, write: writePackages, read: readPackages},
	{name: "restock_threshold", says: saysThreshold, write: writeThreshold, read: readThreshold},

	{name: "category", text: true, write: func(p Product) string { return p.Category }, read: readCategory},
	numberColumn("density_grams_per_ml", func(p *Product) *float64 { return &p.Density }),
	orNoneColumn("flash_point_celsius", func(p *Product) **float64 { return &p.FlashCelsius }),
	orNoneColumn("boiling_point_celsius", func(p *Product) **float64 { return &p.BoilingCelsius }),
	// The sheet's own column has the name of both fields.
	orNoneColumn("details_voc_grams_per_litre", func(p *Product) **float64 { return &p.VOC }),
	wholeColumn("keeps_closed_days", func(p *Product) *int32 { return &p.ClosedDays }),
	wholeColumn("keeps_open_days", func(p *Product) *int32 { return &p.OpenDays }),
	minutesColumn("pot_life_minutes", saysDescribed, func(p *Product) *time.Duration { return &p.PotLife }),
	textColumn("colour", 80, func(p *Product) *string { return &p.Colour }),
	textColumn("sheen", 40, func(p *Product) *string { return &p.Sheen }),
	textColumn("maker", 120, func(p *Product) *string { return &p.Maker }),
	textColumn("article", 80, func(p *Product) *string { return &p.Article }),
	numberColumn("square_metres_per_litre", func(p *Product) *float64 { return &p.M2PerLitre }),
	textColumn("hazards", 1000, func(p *Product) *string { return &p.Hazards }),
	textColumn("ingredients", 1000, func(p *Product) *string { return &p.Ingredients }),
	textColumn("safety_sheet", 500, func(p *Product) *string { return &p.SafetySheet }),
	{name: "safety_sheet_date", write: writeDay, read: readDay},
	{name: "cautions", text: true, write: func(p Product) string { return strings.Join(p.Cautions, "; ") }, read: readCautions},
	textColumn("note", 1000, func(p *Product) *string { return &p.Note }),

	wordColumn("family", func(s *datasheet.Sheet) *finish.Family { return &s.Family }),
	wordColumn("carrier", func(s *datasheet.Sheet) *drying.Carrier { return &s.Carrier }),
	wordColumn("method", func(s *datasheet.Sheet) *coating.Method { return &s.Method }),
	yesColumn("light", func(s *datasheet.Sheet) *bool { return &s.Light }),
	yesColumn("blocks_stains", func(s *datasheet.Sheet) *bool { return &s.BlocksStains }),
	figureColumn("volume_solids_percent", func(s *datasheet.Sheet) *float64 { return &s.SolidsPercent }),
	figureColumn("dry_film_um", func(s *datasheet.Sheet) *float64 { return &s.DryFilmUm }),
	figureColumn("thinning_percent", func(s *datasheet.Sheet) *float64 { return &s.ThinningPercent }),
	figureColumn("transfer_percent", func(s *datasheet.Sheet) *float64 { return &s.TransferPercent }),
	figureColumn("loss_per_set_up_litres", func(s *datasheet.Sheet) *float64 { return &s.LossPerSetUpLitres }),
	figureColumn("reference_celsius", func(s *datasheet.Sheet) *float64 { return &s.ReferenceCelsius }),
	figureColumn("reference_humidity_percent", func(s *datasheet.Sheet) *float64 { return &s.ReferenceHumidity }),
	figureColumn("rate_per_ten_celsius", func(s *datasheet.Sheet) *float64 { return &s.RatePerTenCelsius }),
	statedColumn("set_to_touch_minutes", func(s *datasheet.Sheet) *time.Duration { return &s.SetToTouch }),
	statedColumn("tack_free_minutes", func(s *datasheet.Sheet) *time.Duration { return &s.TackFree }),
	statedColumn("sand_minutes", func(s *datasheet.Sheet) *time.Duration { return &s.Sand }),
	statedColumn("recoat_minutes", func(s *datasheet.Sheet) *time.Duration { return &s.Recoat }),
	statedColumn("recoat_closes_minutes", func(s *datasheet.Sheet) *time.Duration { return &s.RecoatCloses }),
	statedColumn("cure_minutes", func(s *datasheet.Sheet) *time.Duration { return &s.Cure }),
	figureColumn("min_celsius", func(s *datasheet.Sheet) *float64 { return &s.MinCelsius }),
	figureColumn("max_celsius", func(s *datasheet.Sheet) *float64 { return &s.MaxCelsius }),
	figureColumn("max_humidity_percent", func(s *datasheet.Sheet) *float64 { return &s.MaxHumidity }),
	figureColumn("voc_grams_per_litre", func(s *datasheet.Sheet) *float64 { return &s.VOCGramsPerLitre }),
}

func readName(d *csvDraft, cell string) (err error) {
	d.Name, err = readText("name", cell, 120, d.spelling)
	return err
}

func readCategory(d *csvDraft, cell string) (err error) {
	d.Category, err = readText("category", cell, 40, d.spelling)
	d.Category = strings.ToLower(d.Category)
	return err
}

// readUnit takes the measure of a new product; that of a known one stays, for what was written
// down of it is counted in it.
func readUnit(d *csvDraft, cell string) error {
	unit, err := quantity.UnitOf(strings.TrimSpace(cell))
	switch {
	case err != nil:
		return err
	case d.Unit.Symbol == "":
		d.Unit = unit.Base()
	case d.Unit.Symbol != unit.Base().Symbol:
		return fault.New(fault.Precondition, "UNIT_STAYS", "%s is counted in %s, and what was written down of it too; leave its unit, or add the other as a product of its own.",
			d.Name, d.Unit.Symbol)
	}
	return nil
}

func textColumn(name string, most int, of func(*Product) *string) csvColumn {
	return csvColumn{name: name, text: true, write: func(p Product) string { return *of(&p) },
		read: func(d *csvDraft, cell string) (err error) {
			*of(&d.Product), err = readText(name, cell, most, d.spelling)
			return err
		}}
}

func numberColumn(name string, of func(*Product) *float64) csvColumn {
	return csvColumn{name: name, write: func(p Product) string { return writeNumber(*of(&p)) },
		read: func(d *csvDraft, cell string) (err error) { *of(&d.Product), err = readNumber(name, cell); return err }}
}

func wholeColumn(name string, of func(*Product) *int32) csvColumn {
	return csvColumn{name: name, write: func(p Product) string { return writeWhole(*of(&p)) },
		read: func(d *csvDraft, cell string) (err error) { *of(&d.Product), err = readWhole(name, cell); return err }}
}

func minutesColumn(name string, s says, of func(*Product) *time.Duration) csvColumn {
	return csvColumn{name: name, says: s, write: func(p Product) string { return writeWhole(int32(*of(&p) / time.Minute)) },
		read: func(d *csvDraft, cell string) error {
			minutes, err := readWhole(name, cell)
			*of(&d.Product) = time.Duration(minutes) * time.Minute
			return err
		}}
}

// orNoneColumn is of a number of which zero is one.
func orNoneColumn(name string, of func(*Product) **float64) csvColumn {
	return csvColumn{name: name, write: func(p Product) string { return writeOrNone(*of(&p)) },
		read: func(d *csvDraft, cell string) (err error) { *of(&d.Product), err = readOrNone(name, cell); return err }}
}
