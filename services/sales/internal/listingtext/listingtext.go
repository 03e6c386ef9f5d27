// Package listingtext writes what can be said of a piece to buyers: only what somebody noted of it, each line with the facts that it
// says. It adds no word of praise, and of what nobody noted it says that it is not known. Pure.
//
//	intake: title, kind, size, condition, parts ─┐
//	workflow: look, coats that are finished ─────┴▶ Write ─▶ title, lines, what is not known
package listingtext

import (
	"cmp"
	"fmt"
	"strings"
)

// Source is who noted a fact.
type Source int

// The sources.
const (
	Intake   Source = iota // as it was taken in
	Workflow               // what the workshop planned and did
)

// Fact is something that somebody noted of the piece.
type Fact struct {
	Source      Source
	What, Value string
}

// Line is a sentence and the facts that it says, at least one.
type Line struct {
	Text  string
	Facts []Fact
}

// Text is what can be said.
type Text struct {
	Title    Fact
	Lines    []Line
	NotKnown []string
}

// Piece is what is known of one; what is not is empty.
type Piece struct {
	Title, Kind     string
	Size, Condition string // small, medium, large; sound, worn, damaged
	Parts           []Part
	Look            string
	Coats           []Coat // that are finished
}

// Part is one or several alike.
type Part struct {
	Label                    string
	Count                    int
	Length, Width, Thickness string // with their units, such as 120 cm
}

// Coat is a coat of a part, or of the whole piece where that is empty.
type Coat struct{ Part, Kind, Product string }

// sizes and conditions say what the contracts mean by the words.
var (
	sizes = map[string]string{"small": "Size: small; one person carries it.", "medium": "Size: medium; two people carry it.",
		"large": "Size: large; it takes more than two people to carry, or comes apart first."}
	conditions = map[string]string{"sound": "It came to the shop with nothing to mend but its finish.", "worn": "It came to the shop worn on its surface.",
		"damaged": "It came to the shop damaged: something was loose, lifted, burnt or missing."}
)

// Write writes it.
func Write(p Piece) Text {
	t := Text{Title: Fact{Intake, "title", p.Title}}
	t.say("kind", Intake, p.Kind, "Kind: "+p.Kind+".")
	t.say("size", Intake, p.Size, sizes[p.Size])
	t.parts(p.Parts)
	t.say("condition", Intake, p.Condition, conditions[p.Condition])
	t.say("look", Workflow, p.Look, "Finish by its plan: "+p.Look+".")
	t.coats(p.Coats)
	return t
}

// say adds a line of one fact, or that it is not known.
func (t *Text) say(what string, source Source, value, line string) {
	if value == "" || line == "" {
		t.NotKnown = append(t.NotKnown, what)
		return
	}
	t.Lines = append(t.Lines, Line{line, []Fact{{source, what, value}}})
}

// parts says what it is made of, and how large that is.
func (t *Text) parts(all []Part) {
	var line Line
	var words []string
	measured := false
	for _, p := range all {
		measured = measured || p.measures() != ""
		words = append(words, p.word())
		line.Facts = append(line.Facts, Fact{Intake, "part", p.word()})
	}
	if len(all) > 0 {
		line.Text = "Parts: " + strings.Join(words, "; ") + "."
		t.Lines = append(t.Lines, line)
	}
	if !measured {
		t.NotKnown = append(t.NotKnown, "measures")
	}
}

func (p Part) word() string {
	word := p.Label
	if p.Count > 1 {
		word = fmt.Sprintf("%d × %s", p.Count, p.Label)
	}
	if m := p.measures(); m != "" {
		word += " (" + m + ")"
	}
	return word
}

// measures says which side is how long: without its name a measure means nothing where another is not known.
func (p Part) measures() string {
	var words []string
	for _, side := range []struct{ measure, says string }{{p.Length, "long"}, {p.Width, "wide"}, {p.Thickness, "thick"}} {
		if side.measure != "" {
			words = append(words, side.measure+" "+side.says)
		}
	}
	return strings.Join(words, ", ")
}

// coats says how many coats of what each part was given, in the order of the work.
func (t *Text) coats(all []Coat) {
	var order []Coat
	count, said := map[Coat]int{}, map[string]bool{}
	for _, c := range all {
		if count[c]++; count[c] == 1 {
			order = append(order, c)
		}
	}
	for _, first := range order {
		if said[first.Part] {
			continue
		}
		said[first.Part] = true
		t.Lines = append(t.Lines, coatsOf(first.Part, order, count))
	}
	if len(all) == 0 {
		t.NotKnown = append(t.NotKnown, "coats")
	}
}

func coatsOf(part string, order []Coat, count map[Coat]int) Line {
	var line Line
	var words []string
	for _, c := range order {
		if c.Part == part {
			words = append(words, c.word(count[c]))
			line.Facts = append(line.Facts, Fact{Workflow, "coat", strings.TrimPrefix(part+": ", ": ") + c.word(count[c])})
		}
	}
	line.Text = fmt.Sprintf("Coats on the %s: %s.", cmp.Or(part, "whole piece"), strings.Join(words, ", "))
	return line
}

func (c Coat) word(times int) string {
	word := fmt.Sprintf("%d of %s", times, c.Kind)
	if c.Product != "" {
		word += " (" + c.Product + ")"
	}
	return word
}
