package intake

import "tackfree/pkg/fault"

// Paper is what letters are printed on.
type Paper string

// The papers.
const (
	A4     Paper = "a4"
	Letter Paper = "letter"
)

// Letterhead is whose letters the shop's are. Version 0: the owner said nothing yet.
type Letterhead struct {
	Name                            string
	Address                         []string // line by line
	Phone, Email, Web, Tax, Closing string
	Paper                           Paper // "": nobody said
	Version                         int64
}

// Say makes a letterhead the next version. Faults: LETTERHEAD_WITHOUT_NAME, LETTERHEAD_WITHOUT_PAPER.
func (l Letterhead) Say(to Letterhead) (Letterhead, error) {
	switch {
	case to.Name == "":
		return l, fault.New(fault.Invalid, "LETTERHEAD_WITHOUT_NAME", "Say the shop's name as it is to stand at the head of a letter.").At("letterhead.shop_name")
	case to.Paper == "":
		return l, fault.New(fault.Invalid, "LETTERHEAD_WITHOUT_PAPER", "Say which paper the shop prints on, A4 or letter.").At("letterhead.paper")
	}
	to.Version = l.Version + 1
	return to, nil
}
