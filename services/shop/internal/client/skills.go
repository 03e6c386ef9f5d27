package client

import (
	"fmt"
	"strconv"
	"strings"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// usualLevel is the level of a skill that is not said: alone.
const usualLevel = 2

// Skills reads skills as people write them: spray, or spray:3 for a level from 1 to 3.
func Skills(written []string) (skills []string, levels []*workflowv1.SkillLevel) {
	for _, w := range written {
		word, digits, said := strings.Cut(w, ":")
		level, err := strconv.ParseInt(digits, 10, 32)
		if !said || err != nil {
			skills = append(skills, w)
			continue
		}
		skills = append(skills, word)
		if level != usualLevel {
			levels = append(levels, &workflowv1.SkillLevel{Skill: word, Level: int32(level)})
		}
	}
	return skills, levels
}

// SkillWords writes a person's skills as Skills reads them, the level only where it is not the
// usual one.
func SkillWords(p *workflowv1.Person) []string {
	out := make([]string, len(p.Skills))
	for i, word := range p.Skills {
		out[i] = word
		for _, l := range p.Levels {
			if l.Skill == word {
				out[i] += fmt.Sprintf(":%d", l.Level)
			}
		}
	}
	return out
}
