package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"time"

	"tackfree/pkg/dimension"
	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
)

// planFile is a piece to be planned, as a person writes it down.
type planFile struct {
	Piece    string                 `json:"piece"`
	Products map[string]planProduct `json:"products"` // paint, glaze, stain, toner, topcoat, oil, wax
	Parts    []planPart             `json:"parts"`
}

type planProduct struct {
	Name         string        `json:"name"`
	Family       finish.Family `json:"family"`
	Light        bool          `json:"light"`
	BlocksStains bool          `json:"blocks_stains"`
	Recoat       string        `json:"recoat"`
	RecoatCloses string        `json:"recoat_closes"`
	Cure         string        `json:"cure"`
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
		area, err := dimension.Area.Parse(p.Area)
		if err != nil {
			return nil, inFile(fmt.Sprintf("parts[%d].area", i), err)
		}
		parts[i] = finish.Part{Label: p.Label, AreaM2: area,
			Assessment: finish.Assessment{Material: p.Material, Species: p.Species, VeneerMM: p.VeneerMM, OldFinish: p.OldFinish, Waxed: p.Waxed,
				OldStain: p.OldStain, Lead: p.Lead, PaintedIn: p.PaintedIn},
			Wanted: finish.Wanted{Look: p.Look, Coats: p.Coats, Topcoats: p.Topcoats, Waxed: p.WaxLast}}
	}
	return parts, nil
}

func (f planFile) palette() (p finish.Palette, err error) {
	places := map[string]**finish.Product{"paint": &p.Paint, "glaze": &p.Glaze, "stain": &p.Stain, "toner": &p.Toner, "topcoat": &p.Topcoat, "oil": &p.Oil, "wax": &p.Wax}
	for use, product := range f.Products {
		place := places[use]
		if place == nil {
			return p, fmt.Errorf("products.%s: there is no such use; paint, glaze, stain, toner, topcoat, oil and wax are", use)
		}
		if *place, err = product.read(); err != nil {
			return p, inFile("products."+use, err)
		}
	}
	return p, nil
}

func (p planProduct) read() (*finish.Product, error) {
	out := &finish.Product{Name: p.Name, Family: p.Family, Light: p.Light, BlocksStains: p.BlocksStains}
	for _, d := range []struct {
		text string
		into *time.Duration
	}{{p.Recoat, &out.Recoat}, {p.RecoatCloses, &out.RecoatCloses}, {p.Cure, &out.Cure}} {
		if d.text == "" {
			continue
		}
		hours, err := dimension.Time.Parse(d.text)
		if err != nil {
			return nil, err
		}
		*d.into = time.Duration(hours * float64(time.Hour))
	}
	return out, nil
}
