package tagged

import (
	"fmt"
	"strings"

	"tackfree/pkg/fault"
	"tackfree/pkg/printed"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// Bag is one with hardware of a piece.
type Bag struct {
	Part     string // whose hardware it is; empty: the whole piece's
	Contents string // what is in it, as somebody typed it; empty: a line to fill in
}

// MostBags is how many bags a piece has at most.
const MostBags = 100

var errManyBags = fault.New(fault.Invalid, "BAGS_TOO_MANY", "At most 100 bags of a piece are printed at once. Print the others after them.").At("bag")

// ReadBags reads what is in each bag: "drawers: 8 pulls", or "8 pulls" where it is no part's alone. With none there
// is a bag for each part. Faults: BAGS_TOO_MANY.
func ReadBags(parts []*intakev1.Part, typed []string) (all []Bag, err error) {
	for _, line := range typed {
		if line = strings.TrimSpace(line); line != "" {
			all = append(all, readBag(parts, line))
		}
	}
	if len(all) > MostBags {
		return nil, errManyBags
	}
	if len(all) > 0 {
		return all, nil
	}
	for _, p := range parts {
		all = append(all, Bag{Part: counted(p)})
	}
	return all, nil
}

// readBag takes what stands before a colon for a part where the piece has one of that name.
func readBag(parts []*intakev1.Part, line string) Bag {
	before, after, _ := strings.Cut(line, ":")
	for _, p := range parts {
		if strings.EqualFold(strings.TrimSpace(before), p.Label) {
			return Bag{Part: counted(p), Contents: strings.TrimSpace(after)}
		}
	}
	return Bag{Contents: line}
}

// blank is a line to fill in by hand.
const blank = "______________________"

// Bags are the labels of a piece's bags, which say how many there are, so that none is missed. Day is when the
// hardware came off; code as of a tag.
func Bags(p *intakev1.Piece, bags []Bag, day, code string, w Words) []printed.Label {
	all := make([]printed.Label, len(bags))
	for i, b := range bags {
		contents := b.Contents
		if contents == "" {
			contents = blank
		}
		all[i] = printed.Label{Number: fmt.Sprint(p.Tag), Title: joined(" · ", fmt.Sprintf(w.Bag, i+1, len(bags)), b.Part), Code: code,
			Lines: []string{contents, p.Title, fmt.Sprintf(w.TakenOff, day)}}
	}
	return all
}
