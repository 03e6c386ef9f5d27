package cli

import (
	"fmt"
	"strings"

	"tackfree/pkg/finish"
)

type sandCmd struct {
	output
	From string `help:"The coarsest grade: P80, or 80 for a CAMI grade." required:"" placeholder:"GRADE"`
	To   string `help:"The finest grade, such as P220." required:"" placeholder:"GRADE"`
}

func (c *sandCmd) Run(e *env) error {
	from, err := finish.ParseGrit(c.From)
	if err != nil {
		return err
	}
	to, err := finish.ParseGrit(c.To)
	if err != nil {
		return err
	}
	sequence, err := finish.SandingSequence(from, to)
	if err != nil {
		return err
	}
	type step struct {
		Grade string  `json:"grade"`
		Size  float64 `json:"micrometres"`
	}
	steps, words := make([]step, len(sequence)), make([]string, len(sequence))
	for i, g := range sequence {
		size, err := g.Micrometres()
		if err != nil {
			return err
		}
		steps[i], words[i] = step{g.String(), size}, fmt.Sprintf("%s (%g µm)", g, size)
	}
	figures := struct {
		Sequence []step `json:"sequence"`
		Stain    bool   `json:"fit_before_stain"`
	}{steps, to.FitForStain()}
	return c.figures(e, figures, func() string {
		text := strings.Join(words, ", ") + "."
		if !figures.Stain {
			text += " For a stain that soaks in, end between P150 and P220."
		}
		return text + " Wear a mask and use extraction; on paint of unknown age, test for lead first."
	})
}
