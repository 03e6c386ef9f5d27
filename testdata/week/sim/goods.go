package sim

import (
	"fmt"
	"slices"
	"strconv"
	"time"
)

type airZone struct {
	Word string `json:"word"`
	Name string `json:"name"`
	Kind string `json:"kind"`
}

var zones = []airZone{{"north", "North bench room", "BENCH_ROOM"}, {"south", "South bench room", "BENCH_ROOM"}, {"booth", "Spray booth", "BOOTH"}}

type air struct {
	Zone     string  `json:"zone"`
	Celsius  float64 `json:"celsius"`
	Humidity float64 `json:"humidity"`
}

type quantity struct {
	Value string `json:"value"`
	Unit  string `json:"unit"`
}

type inches = quantity

type product struct {
	Name     string `json:"name"`
	Unit     string `json:"unit"`
	Packages []pack `json:"packages"`
	cans     int    // that are there when the week begins
	cost     int64  // of all of them, cents
}

type pack struct {
	Label   string   `json:"label"`
	Content quantity `json:"content"`
}

// can is how much is in each package, millilitres.
const can = 4000

var products = []*product{
	newProduct("White primer", 3, 126_00), newProduct("Chalk blue paint", 2, 139_80), newProduct("Oat paint", 2, 132_40), newProduct("Satin clear coat", 4, 271_20),
	newProduct("Hard wood oil", 2, 178_00), newProduct("Walnut stain", 2, 96_60), newProduct("Gel stripper", 6, 317_40),
}

func newProduct(name string, cans int, cost int64) *product {
	return &product{Name: name, Unit: "L", Packages: []pack{{"four-litre can", quantity{strconv.Itoa(can), "mL"}}}, cans: cans, cost: cost}
}

type receive struct {
	Product  string `json:"product"`
	Package  string `json:"package"`
	Count    int    `json:"count"`
	Cost     string `json:"cost"`
	Supplier string `json:"supplier"`
}

type issue struct {
	ref
	Batch    string   `json:"batch,omitempty"`
	Product  string   `json:"product"`
	Quantity quantity `json:"quantity"`
}

// fillShelves receives what the week begins with.
func (s *shop) fillShelves() {
	for _, p := range products {
		s.say(day(-3, 15, 0), "receive", receive{Product: p.Name, Package: p.Packages[0].Label, Count: p.cans, Cost: fmt.Sprintf("%d.%02d", p.cost/100, p.cost%100), Supplier: "Millrace Supply"})
		s.stock[p.Name] = p.cans * can
	}
}

// product is what a stage takes, and about how many millilitres of it.
func (s *shop) product(st *stage) (name string, amount int) {
	switch {
	case st.kind == "prime":
		return "White primer", 110
	case st.kind == "paint_coat" && st.piece.number%2 == 0:
		return "Chalk blue paint", 95
	case st.kind == "paint_coat":
		return "Oat paint", 95
	case st.key == "topcoat":
		return "Satin clear coat", 90
	case st.kind == "topcoat_coat":
		return "Hard wood oil", 80
	case st.kind == "stain_coat":
		return "Walnut stain", 70
	case st.kind == "strip":
		return "Gel stripper", 260
	}
	return "", 0
}

// issue takes what a stage needs from the shelf, where somebody writes it down.
func (s *shop) issue(p *person, st *stage, start time.Time) {
	if name, amount := s.product(st); name != "" && s.chance(55) {
		s.spend(p, issue{ref: st.ref(), Product: name}, amount*s.between(70, 140)/100, start.Add(time.Minute))
	}
}

// spend issues, as long as there is enough.
func (s *shop) spend(p *person, i issue, amount int, when time.Time) {
	if s.stock[i.Product] < amount {
		return
	}
	s.stock[i.Product] -= amount
	i.Quantity = quantity{strconv.Itoa(amount), "mL"}
	s.say(when, "issue", i).By = p.Name
}

type takeIn struct {
	Tag    int     `json:"tag"`
	Title  string  `json:"title"`
	Kind   string  `json:"kind"`
	Price  string  `json:"price,omitempty"`
	Source string  `json:"source,omitempty"`
	Client string  `json:"client,omitempty"`
	Parts  []*part `json:"parts"`
}

type leadTest struct {
	Piece  string `json:"piece"`
	Result string `json:"result"`
}

type plan struct {
	Piece string            `json:"piece"`
	Route string            `json:"route"`
	Parts map[string]string `json:"parts,omitempty"`
}

// sort is a sort of piece: its parts with their routes, and how large the work is, percent.
type sort struct {
	kind, title string
	parts       []part
	size        int
}

func fronts(n int) part { return part{Label: "fronts", Count: n, route: "painted"} }

func of(label, route string) part { return part{Label: label, Count: 1, route: route} }

var sorts = []sort{
	{"dresser", "Pine dresser", []part{of("case", "painted"), fronts(4)}, 120},
	{"chair", "Beech chair", []part{of("frame", "oiled"), of("seat", "seat")}, 80},
	{"table", "Ash side table", []part{of("top", "oiled"), {Label: "legs", Count: 4, route: "oiled"}}, 70},
	{"chest", "Poplar chest", []part{of("case", "painted"), fronts(3)}, 100},
	{"bookcase", "Oak bookcase", []part{of("case", "stained")}, 125},
	{"nightstand", "Maple nightstand", []part{of("case", "painted"), fronts(1)}, 65},
	{"desk", "Mahogany desk", []part{of("top", "stained"), of("base", "stained")}, 90},
	{"cabinet", "Fir cabinet", []part{of("case", "mended"), {Label: "doors", Count: 2, route: "mended"}}, 95},
	{"bench", "Elm hall bench", []part{of("bench", "oiled")}, 110},
	{"washstand", "Pine washstand", []part{of("case", "painted"), fronts(2)}, 75},
}

// pieceCount is how many pieces there are, and before how many of them the week begins.
const pieceCount, before = 60, 46

// takeIn makes the pieces: most are there before the week, the others come on its days.
func (s *shop) takeIn() {
	for n := range pieceCount {
		so := sorts[n%len(sorts)]
		pc := &piece{number: 401 + n, in: day(-3, 9, 0).Add(time.Duration(n) * 6 * time.Minute)}
		if n >= before {
			pc.in = day((n-before)/3, 9, 10+17*((n-before)%3))
		}
		for _, pt := range so.parts {
			pt.piece = pc
			pt.Length = &inches{strconv.Itoa(s.between(14, 46)), "in"}
			pt.Width = &inches{strconv.Itoa(s.between(10, 24)), "in"}
			pc.parts = append(pc.parts, &pt)
		}
		size := so.size * s.between(85, 115) / 100
		pc.layOut(size)
		pc.particular(n, so)
		s.pieces = append(s.pieces, pc)
		if n < before {
			s.comes(pc)
		}
	}
}

// particular gives some pieces what is particular about them: the bookcase that is so large that three
// strip it together, and the commissions that are promised.
func (pc *piece) particular(n int, so sort) {
	if pc.number == large {
		strip := pc.stageOf("strip")
		strip.whole, strip.left, strip.reserved = 4*time.Hour, 4*time.Hour, true
	}
	if _, is := promised[pc.number]; is {
		pc.urgent = 2
	}
	if so.kind == "chair" && n < 30 {
		pc.urgent = 1
	}
}

// large is the number of a piece that three people strip together.
const large = 405

// promised are pieces with their value.
var promised = map[int]string{403: "360.00", 411: "940.00", 424: "520.00"}

var (
	titles  = []string{"", ", two owners", ", marked underneath", ", from a school", ", from a farm", ", with a repair"}
	sources = []string{"estate sale", "barn clearance", "flea market", "auction"}
	clients = []string{"T. Wainscott", "J. Amundsen", "R. Delacroix-Hume", "P. Oyelaran", "S. Kettering"}
)

// comes takes a piece in, has it tested for lead and lays out its stages.
func (s *shop) comes(pc *piece) {
	n := pc.number - 401
	so := sorts[n%len(sorts)]
	t := takeIn{Tag: pc.number, Title: so.title + titles[n/len(sorts)], Kind: so.kind, Parts: pc.parts}
	if _, is := promised[pc.number]; is || n%5 == 0 {
		t.Client = clients[n/5%len(clients)]
	} else {
		t.Price, t.Source = fmt.Sprintf("%d.00", s.between(15, 120)), sources[n%len(sources)]
	}
	s.say(pc.in, "take_in", t)
	result := "free"
	if slices.Contains([]int{415, 433}, pc.number) { // which are stripped, and that keeps it wet
		result = "found"
	}
	s.say(pc.in.Add(2*time.Minute), "lead_test", leadTest{Piece: pc.tag(), Result: result})
	p := plan{Piece: pc.tag(), Route: pc.parts[0].route}
	for _, pt := range pc.parts[1:] {
		if pt.route != p.Route {
			p.Parts = map[string]string{pt.Label: pt.route}
		}
	}
	s.say(pc.in.Add(4*time.Minute), "plan", p)
	if value, is := promised[pc.number]; is {
		s.say(pc.in.Add(5*time.Minute), "promise", promise{Piece: pc.tag(), By: clock(day(friday, 17, 0)), Value: value})
	}
}
