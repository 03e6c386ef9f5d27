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
func Skills(written []string) []*workflowv1.Skill {
	out := make([]*workflowv1.Skill, len(written))
	for i, w := range written {
		out[i] = &workflowv1.Skill{Word: w, Level: usualLevel}
		word, digits, said := strings.Cut(w, ":")
		if level, err := strconv.ParseInt(digits, 10, 32); said && err == nil {
			out[i] = &workflowv1.Skill{Word: word, Level: int32(level)}
		}
	}
	return out
}

// SkillWords writes skills as Skills reads them, the level only where it is not the usual one.
func SkillWords(skills []*workflowv1.Skill) []string {
	out := make([]string, len(skills))
	for i, s := range skills {
		if out[i] = s.Word; s.Level != usualLevel {
			out[i] += fmt.Sprintf(":%d", s.Level)
		}
	}
	return out
}
