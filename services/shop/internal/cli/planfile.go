package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
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
		if err != nil {
			return nil, inFile(place+"area", err)
		}
		own, err := readPalette(place, p.Products)
		if err != nil {
			return nil, err
		}
		parts[i] = finish.Part{Label: p.Label, AreaM2: area, MatchGroup: p.MatchGroup, Palette: &own,
			Assessment: finish.Assessment{Material: p.Material, Species: p.Species, VeneerMM: p.VeneerMM, OldFinish: p.OldFinish, Waxed: p.Waxed,
				OldStain: p.OldStain, Lead: p.Lead, PaintedIn: p.PaintedIn},
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
		if *into, err = products[use].read(); err != nil {
			return p, inFile(place+"products."+use, err)
		}
	}
	return p, nil
}

func (p planProduct) read() (*finish.Product, error) {
	out := &finish.Product{ID: p.ID, Name: p.Name, Family: p.Family, Light: p.Light, BlocksStains: p.BlocksStains, Method: p.Method}
	for _, d := range []struct {
		text string
		into *time.Duration
	}{{p.Recoat, &out.Recoat}, {p.RecoatCloses, &out.RecoatCloses}, {p.Cure, &out.Cure}} {
		var hours float64
		if err := readOptional(dimension.Time, d.text, &hours); err != nil {
			return nil, err
		}
		*d.into = time.Duration(hours * float64(time.Hour))
	}
	for _, v := range []struct {
		kind dimension.Kind
		text string
		into *float64
	}{{dimension.Percent, p.Solids, &out.SolidsPercent}, {dimension.Film, p.Film, &out.DryFilmUm}, {dimension.Percent, p.Thinning, &out.ThinningPercent},
		{dimension.Percent, p.Transfer, &out.TransferPercent}, {dimension.Volume, p.Loss, &out.LossPerSetUpLitres}} {
		if err := readOptional(v.kind, v.text, v.into); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// readOptional reads a value with its unit; what is left out stays 0.
func readOptional(kind dimension.Kind, text string, into *float64) (err error) {
	if text != "" {
		*into, err = kind.Parse(text)
	}
	return err
}
