package workflow

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/finish"
	"tackfree/pkg/id"
)

// Mending is a stage that mends what came back.
type Mending struct {
	Part       string // label; empty: the whole piece
	Kind       finish.Kind
	Grit       string // empty: as usual
	Product    id.ID  // id.Nil: none
	Skill      string // empty: as usual
	Station    string // likewise
	Attended   time.Duration
	Unattended time.Duration
}

// lastCoat stands in a usual mending for a coat like the last on the part.
const lastCoat finish.Kind = "last_coat"

// overFilm mends what is wrong in a film by a coat over it, and newFilm by another film.
var (
	overFilm = []finish.Kind{finish.Clean, finish.ScuffSand, finish.DustOff, lastCoat, finish.Inspect}
	newFilm  = []finish.Kind{finish.Strip, finish.WashOff, finish.DryOut, finish.Sand, finish.DustOff, lastCoat, finish.Inspect}
	reglued  = []finish.Kind{finish.GlueClamp, finish.Inspect}
	fitted   = []finish.Kind{finish.HardwareOn, finish.Inspect}
)

// UsualMendings are the kinds of stage by which kinds of fault are usually mended. Common practice, all of them: a
// beginning, that the lead changes. Of kinds that are not here nothing is usual.
var UsualMendings = map[string][]finish.Kind{
	"runs": overFilm, "sags": overFilm, "orange_peel": overFilm, "blush": overFilm, "lap_marks": overFilm, "brush_marks": overFilm,
	"dust_nibs": overFilm, "pinholes": overFilm, "bubbles": overFilm, "dry_spray": overFilm, "thin_spot": overFilm, "sheen_uneven": overFilm,
	"handling_mark": overFilm, "water_ring": overFilm,
	"fish_eye":      {finish.Clean, finish.WipeSolvent, finish.ScuffSand, finish.DustOff, lastCoat, finish.Inspect},
	"bleed_through": {finish.Clean, finish.ScuffSand, finish.DustOff, finish.BlockStains, lastCoat, finish.Inspect},
	"peeling":       newFilm, "cracking": newFilm, "tacky": newFilm, "wrinkling": newFilm,
	"joint_loose": reglued, "veneer_lifting": reglued, "hardware_loose": fitted, "hardware_missing": fitted,
}

// mendOrder is in which order what several faults of one part ask for is done.
var mendOrder = []finish.Kind{finish.GlueClamp, finish.Strip, finish.WashOff, finish.DryOut, finish.Clean, finish.WipeSolvent, finish.Sand, finish.ScuffSand,
	finish.DustOff, finish.BlockStains, lastCoat, finish.HardwareOn, finish.Inspect}

// offByStrip is what nobody does to a film that comes off.
var offByStrip = []finish.Kind{finish.Clean, finish.WipeSolvent, finish.ScuffSand}

// UsualMending is what usually mends a come-back, part by part. Faults: MENDING_UNKNOWN, COAT_UNKNOWN.
func (p *Plan) UsualMending(c Comeback) (out []Mending, err error) {
	var parts []string
	asks := map[string]map[finish.Kind]bool{}
	for _, d := range c.Faults {
		if asks[d.PartLabel] == nil {
			asks[d.PartLabel], parts = map[finish.Kind]bool{}, append(parts, d.PartLabel)
		}
		for _, k := range UsualMendings[d.Kind] {
			asks[d.PartLabel][k] = true
		}
	}
	for _, part := range parts {
		all, err := p.mendPart(part, asks[part])
		if err != nil {
			return nil, err
		}
		out = append(out, all...)
	}
	if len(out) == 0 {
		return nil, fault.New(fault.Precondition, "MENDING_UNKNOWN", "Nothing is usual for such a fault; name the stages that mend it.").At("stages")
	}
	return out, nil
}

// mendPart lays what is asked for of one part in order.
func (p *Plan) mendPart(part string, asked map[finish.Kind]bool) (out []Mending, err error) {
	for _, k := range mendOrder {
		if !asked[k] || asked[finish.Strip] && slices.Contains(offByStrip, k) {
			continue
		}
		m := Mending{Part: part, Kind: k}
		if k == lastCoat {
			if m.Kind, m.Product, err = p.lastFilm(part); err != nil {
				return nil, err
			}
		}
		out = append(out, m)
	}
	return out, nil
}

// lastFilm is the kind and the product of the coat on a part that was finished last. Fault: COAT_UNKNOWN.
func (p *Plan) lastFilm(part string) (kind finish.Kind, product id.ID, err error) {
	var at time.Time
	for _, s := range p.Stages {
		mine := s.PartLabel == part || s.PartLabel == "" || part == ""
		if k := finish.Kind(s.Kind); mine && k.LeavesFilm() && s.Finished() && !s.FinishedAt.Before(at) {
			kind, product, at = k, s.Product, s.FinishedAt
		}
	}
	if product == id.Nil {
		return kind, product, fault.New(fault.Precondition, "COAT_UNKNOWN", "Nobody noted with which product %s was last coated, so nobody knows what to mend it with; name the stages and their products.", mendedPart(part)).At("stages")
	}
	return kind, product, nil
}

func mendedPart(label string) string {
	if label == "" {
		return "the piece"
	}
	return label
}

// usualGrits are the grits of a mending where nobody said another: between coats, and of bare wood before a coat.
// Common practice.
var usualGrits = map[finish.Kind]string{finish.ScuffSand: "P320", finish.Sand: "P180"}

// grit is the grit of a stage, or the usual one.
func grit(k finish.Kind, said string) string {
	if said != "" {
		return said
	}
	return usualGrits[k]
}

// againKey names a stage that mends so that no other of its part is called so.
func againKey(k finish.Kind, part string, taken map[[2]string]bool) string {
	base := strings.ReplaceAll(string(k), "_", "-") + "-again"
	key := base
	for n := 2; taken[[2]string{part, key}]; n++ {
		key = base + "-" + strconv.Itoa(n)
	}
	taken[[2]string{part, key}] = true
	return key
}
