package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strings"
	"time"

	"tackfree/pkg/coating"
	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

// planFile is a piece to be planned, as a person writes it down.
type planFile struct {
	Piece    string                 `json:"piece"`
	Products map[string]planProduct `json:"products"` // by use: paint, stain, topcoat …
	Parts    []planPart             `json:"parts"`
}

type planProduct struct {
	ID           string        `json:"id"`
	Name         string        `json:"name"`
	Family       finish.Family `json:"family"`
	Light        bool          `json:"light"`
	BlocksStains bool          `json:"blocks_stains"`
	Recoat       string        `json:"recoat"`
	RecoatCloses string        `json:"recoat_closes"`
	Cure         string        `json:"cure"`
	// What a need is computed from: with no solids or no film none is.
	Method   coating.Method `json:"method"`
	Solids   string         `json:"solids"`   // 40%
	Film     string         `json:"film"`     // 1.5mil, of one coat when dry
	Thinning string         `json:"thinning"` // 10%
	Transfer string         `json:"transfer"` // 65%
	Loss     string         `json:"loss"`     // 30mL, of each set-up
}

// UnmarshalJSON reads a product that is described, or only named, as one on the shelf is.
func (p *planProduct) UnmarshalJSON(b []byte) error {
	if json.Unmarshal(b, &p.Name) == nil {
		return nil
	}
	type described planProduct
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	return d.Decode((*described)(p))
}

type planPart struct {
	Label     string          `json:"label"`
	Area      string          `json:"area"`
	Material  finish.Material `json:"material"`
	Species   string          `json:"species"`
	VeneerMM  float64         `json:"veneer_mm"`
	OldFinish finish.Family   `json:"old_finish"`
	Waxed     bool            `json:"waxed"`
	OldStain  bool            `json:"old_stain"`
	Lead      finish.Lead     `json:"lead"`
	PaintedIn int             `json:"painted_in"`
	Defects   []finish.Defect `json:"defects"`
	Look      finish.Look     `json:"look"`
	Coats     int             `json:"coats"`
	Topcoats  int             `json:"topcoats"`
	WaxLast   bool            `json:"wax_last"`
	// Parts of one group meet in view and must match.
	MatchGroup string `json:"match_group"`
	// Its own products, by use, instead of the piece's.
	Products map[string]planProduct `json:"products"`
}

// readPlanFile reads the file; a field that nobody knows is an error that names it.
func readPlanFile(path string) (f planFile, err error) {
	b, err := os.ReadFile(path)
	if err != nil {
		return f, err
	}
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(&f); err != nil {
		return f, fmt.Errorf("%s: %w", path, err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return f, fmt.Errorf("%s: there is more after the end of the piece", path)
	}
	return f, nil
}

// inFile says at which place of the file a fault is.
func inFile(place string, err error) error {
	f := fault.Of(err)
	if f == nil {
		return fmt.Errorf("%s: %w", place, err)
	}
	return fault.New(f.Kind, f.Reason, "%s: %s", place, f.Text).At(place)
}

func (f planFile) parts() ([]finish.Part, error) {
	parts := make([]finish.Part, len(f.Parts))
	for i, p := range f.Parts {
		place := fmt.Sprintf("parts[%d].", i)
		area, err := dimension.Area.Parse(p.Area)
		if err == nil {
			err = dimension.Above("area", area, 0, 100, "m²")
		}
		if err != nil {
			return nil, inFile(place+"area", err)
		}
		if year := time.Now().Year(); p.PaintedIn > year {
			return nil, fmt.Errorf("%spainted_in is %d, which has not come yet; it must be from 1600 to %d, or 0 if nobody knows", place, p.PaintedIn, year)
		}
		own, err := readPalette(place, p.Products)
		if err != nil {
			return nil, err
		}
		parts[i] = finish.Part{Label: p.Label, AreaM2: area, MatchGroup: p.MatchGroup, Palette: &own,
			Assessment: finish.Assessment{Material: p.Material, Species: p.Species, VeneerMM: p.VeneerMM, OldFinish: p.OldFinish, Waxed: p.Waxed,
				OldStain: p.OldStain, Lead: p.Lead, PaintedIn: p.PaintedIn, Defects: p.Defects},
			Wanted: finish.Wanted{Look: p.Look, Coats: p.Coats, Topcoats: p.Topcoats, Waxed: p.WaxLast}}
	}
	return parts, nil
}

func (f planFile) palette() (finish.Palette, error) { return readPalette("", f.Products) }

// readPalette reads the products of the piece, or of a part of it; place is where they are.
func readPalette(place string, products map[string]planProduct) (p finish.Palette, err error) {
	places := map[string]**finish.Product{"paint": &p.Paint, "second_paint": &p.SecondPaint, "glaze": &p.Glaze, "stain": &p.Stain, "toner": &p.Toner,
		"topcoat": &p.Topcoat, "oil": &p.Oil, "wax": &p.Wax, "eboniser": &p.Eboniser, "liming": &p.Liming, "tie_coat": &p.TieCoat, "primer": &p.Primer}
	for _, use := range slices.Sorted(maps.Keys(products)) {
		into := places[use]
		if into == nil {
			return p, fmt.Errorf("%sproducts.%s: there is no such use; %s are", place, use, strings.Join(slices.Sorted(maps.Keys(places)), ", "))
		}
		if *into, err = products[use].read(place + "products." + use); err != nil {
			return p, err
		}
	}
	return p, nil
}

// read is the product as the rules see it; place is where it stands in the file.
func (p planProduct) read(place string) (*finish.Product, error) {
	if p == (planProduct{Name: p.Name}) {
		return nil, fmt.Errorf("%s: %q is only named, and here is no shelf to find it on; describe it (family, recoat, cure …), or draft the plan in a shop", place, p.Name)
	}
	if _, err := finish.Bond(p.Family, p.Family); err != nil {
		return nil, inFile(place+".family", err)
	}
	out := &finish.Product{ID: p.ID, Name: p.Name, Family: p.Family, Light: p.Light, BlocksStains: p.BlocksStains, Method: p.Method}
	var recoat, closes, cure float64
	for _, v := range []given{
		{"recoat", "dry to recoat", p.Recoat, dimension.Time, 30 * 24, "h", &recoat}, {"recoat_closes", "recoat window closes", p.RecoatCloses, dimension.Time, 90 * 24, "h", &closes},
		{"cure", "cured", p.Cure, dimension.Time, 90 * 24, "h", &cure}, {"solids", "volume solids", p.Solids, dimension.Percent, 100, "%", &out.SolidsPercent},
		{"film", "dry film", p.Film, dimension.Film, 10_000, "µm", &out.DryFilmUm}, {"thinning", "", p.Thinning, dimension.Percent, 0, "", &out.ThinningPercent},
		{"transfer", "transfer efficiency", p.Transfer, dimension.Percent, 100, "%", &out.TransferPercent}, {"loss", "", p.Loss, dimension.Volume, 0, "", &out.LossPerSetUpLitres},
	} {
		if err := v.read(); err != nil {
			return nil, inFile(place+"."+v.field, err)
		}
	}
	out.Recoat, out.RecoatCloses, out.Cure = hours(recoat), hours(closes), hours(cure)
	return out, nil
}

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }

// given is a value with its unit that a product may have. One that is left out is not known,
// and that is something else than none.
type given struct {
	field string
	name  string // of what must be more than 0; empty: 0 may be said
	text  string
	kind  dimension.Kind
	most  float64
	unit  string
	into  *float64
}

func (v given) read() (err error) {
	if v.text == "" {
		return nil
	}
	if *v.into, err = v.kind.Parse(v.text); err != nil || v.name == "" {
		return err
	}
	return dimension.Above(v.name, *v.into, 0, v.most, v.unit)
}
