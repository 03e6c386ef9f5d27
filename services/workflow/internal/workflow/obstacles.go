package workflow

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"tackfree/pkg/sentence"
)

// keeping says of one and of more stages what keeps them from somebody. Where it ends in a
// colon the refusal of the first one follows.
type keeping struct{ reason, one, more string }

// keepings are in the order in which they are said.
var keepings = []keeping{
	{"STAGE_NOT_READY", "1 stage waits for what comes before it:", "%d stages wait for what comes before them; the first:"},
	{"STAGE_OF_ANOTHER", "1 stage is somebody else's:", "%d stages are somebody else's; the first:"},
	{"STAGE_IN_BATCH", "1 stage is run in a batch:", "%d stages are run in one batch; the first:"},
	{"PART_AWAY", "1 stage is on what is outside the shop:", "%d stages are on what is outside the shop; the first:"},
	{"LEAD_UNTESTED", "1 stage waits for a test for lead:", "%d stages wait for a test for lead; the first:"},
	{"LEAD_PRESENT", "1 stage would make dust of lead:", "%d stages would make dust of lead; the first:"},
	{"WOOD_TOO_WET", "1 stage waits for drier wood:", "%d stages wait for drier wood; the first:"},
	{"UNFIT_FOR_COATING", "1 stage waits for other air:", "%d stages wait for other air; the first:"},
	{"STATION_RETIRED", "1 stage has no place where it is done:", "%d stages have no place where they are done; the first:"},
	{"STATION_UNFIT", "1 stage is not done there:", "%d stages are not done there; the first:"},
	{"STATION_NOT_ALLOWED", "1 stage is done where this person may not work:", "%d stages are done where this person may not work; the first:"},
	{"STATION_FULL", "1 stage finds no room:", "%d stages find no room; the first:"},
	{"STATION_CLOSED", "1 stage is done where it is closed now:", "%d stages are done where it is closed now; the first:"},
	{"STAGE_REFUSED", "1 stage was given back:", "%d stages were given back; the first:"},
	{"STATION_NOT_CLEANED", "1 stage waits for a clean place:", "%d stages wait for a clean place; the first:"},
}

// obstacles are sentences for what keeps stages from the person: the skills that they lack,
// what still dries, and all else; of batches one for each, by which they can go on.
func (s *Search) obstacles(offers []Offer) []sentence.Sentence {
	by := map[string][]Offer{}
	for _, o := range offers {
		by[o.against.Reason] = append(by[o.against.Reason], o)
	}
	out := append(s.lacking(by["SKILL_MISSING"]), s.drying(by["PART_NOT_READY"])...)
	delete(by, "SKILL_MISSING")
	delete(by, "PART_NOT_READY")
	for _, k := range keepings {
		for _, alike := range k.split(by[k.reason]) {
			out = append(out, k.of(alike)...)
		}
		delete(by, k.reason)
	}
	for _, reason := range slices.Sorted(maps.Keys(by)) {
		out = append(out, keeping{reason, "1 stage has to wait:", "%d stages have to wait; the first:"}.of(by[reason])...)
	}
	return out
}

// split puts stages together that one sentence is said of.
func (k keeping) split(stages []Offer) (out [][]Offer) {
	if k.reason != "STAGE_IN_BATCH" {
		return [][]Offer{stages}
	}
	for _, o := range stages {
		n := slices.IndexFunc(out, func(alike []Offer) bool { return alike[0].Stage.Batch == o.Stage.Batch })
		if n < 0 {
			out, n = append(out, nil), len(out)
		}
		out[n] = append(out[n], o)
	}
	return out
}

// of says what keeps these stages; of none, nothing.
func (k keeping) of(stages []Offer) []sentence.Sentence {
	text := k.one
	switch {
	case len(stages) == 0:
		return nil
	case len(stages) > 1:
		text = fmt.Sprintf(k.more, len(stages))
	}
	first := slices.MinFunc(stages, bestFirst)
	return []sentence.Sentence{first.named(sentence.New("KEPT", "%s on piece %d, %s", text, first.Piece.Piece.Tag, first.against.Text)).
		With("count", strconv.Itoa(len(stages))).With("refusal", first.against.Reason)}
}

// named has a sentence name an offer's stage and piece.
func (o Offer) named(s sentence.Sentence) sentence.Sentence {
	return s.With("stage", o.Stage.Title()).With("kind", o.Stage.Kind).With("piece", strconv.Itoa(int(o.Piece.Piece.Tag)))
}

// lacking says which skills the person lacks, by their words.
func (s *Search) lacking(offers []Offer) (out []sentence.Sentence) {
	type skill struct {
		word  string
		level int32
	}
	count := map[skill]int{}
	for _, o := range offers {
		count[skill{o.Stage.Skill, o.Stage.SkillLevel}]++
	}
	for skill, n := range count {
		words, level := "the skill "+skill.word, ""
		if skill.level > 0 {
			level = strconv.Itoa(int(skill.level))
			words += " at level " + level
		}
		stages, take := "stage", "takes"
		if n > 1 {
			stages, take = "stages", "take"
		}
		out = append(out, sentence.New("SKILL_LACKING", "%d %s %s %s, which %s does not have.", n, stages, take, words, s.Person.Name).
			With("count", strconv.Itoa(n)).With("skill", skill.word).With("level", level).With("person", s.Person.Name))
	}
	slices.SortFunc(out, func(a, b sentence.Sentence) int { return strings.Compare(a.Text, b.Text) })
	return out
}

// drying says what still dries, and what of it is ready first.
func (s *Search) drying(offers []Offer) []sentence.Sentence {
	if len(offers) == 0 {
		return nil
	}
	ready := func(o Offer) time.Time {
		_, wait := o.Piece.State(o.Stage, s.Now)
		return wait.Until.Likely
	}
	first := slices.MinFunc(offers, func(a, b Offer) int {
		return cmp.Or(promisedFirst(ready(a), ready(b)), bestFirst(a, b))
	})
	title := fmt.Sprintf("%s of piece %d", first.Stage.Title(), first.Piece.Piece.Tag)
	at := ready(first)
	out := sentence.New("STILL_DRY", "%d still dry, the first until %s: %s.", len(offers), saidLike(at, s.Now), title)
	switch {
	case at.IsZero():
		out = sentence.New("NEVER_DRY_THERE", "%d still dry, and in the air where they stand never will be: %s.", len(offers), title)
	case len(offers) == 1:
		out = sentence.New("STILL_DRY", "1 still dries, until %s: %s.", saidLike(at, s.Now), title)
	}
	return []sentence.Sentence{first.named(out).With("count", strconv.Itoa(len(offers))).At("until_time", at)}
}
