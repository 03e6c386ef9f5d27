package scenario

import (
	"cmp"
	"fmt"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// name names what somebody is on, for people.
func (t Target) name() string {
	if t.Stage != "" {
		return fmt.Sprintf("%s of piece %s", t.Stage, t.Piece)
	}
	return cmp.Or(t.Batch, t.Indirect)
}

// on is a target as the contract has it: one of the three, and the stages that are in it.
type on struct {
	stage, batch, indirect string
	stages                 []string
}

func (p *player) on(t Target) (on, error) {
	switch {
	case t.Indirect != "":
		return on{indirect: t.Indirect}, nil
	case t.Batch != "":
		b, err := p.batch(t.Batch)
		if err != nil {
			return on{}, err
		}
		return on{batch: b.name, stages: b.stages}, nil
	}
	stage, err := p.stage(t.StageRef)
	return on{stage: stage, stages: []string{stage}}, err
}

// work is a clock-on, or a switch, and perhaps a clock-off and the end of the stage.
func (p *player) work(s *Work, c command, begin func(*Work, time.Time) error) ([]command, error) {
	c.by, c.text = s.Who, fmt.Sprintf("%s clocks on: %s", s.Who, s.name())
	c.run = func(*player) error { return begin(s, c.at) }
	ends, err := p.ends(s)
	return append([]command{c}, ends...), err
}

// ends are the clock-off of some work, if it has one, and the end of the stage.
func (p *player) ends(s *Work) (commands []command, err error) {
	if s.Until == "" {
		return nil, nil
	}
	until, err := p.parse(s.Until, p.terms.Zone)
	if err != nil {
		return nil, err
	}
	commands = append(commands, command{at: until, by: s.Who, text: fmt.Sprintf("%s clocks off", s.Who), run: func(p *player) error { return p.clockOff(s, until) }})
	if s.Finish {
		done := command{at: until, by: s.Who}
		done.text, done.run = end(s, timestamppb.New(until))
		commands = append(commands, done)
	}
	return commands, nil
}

// clockOn starts the work: whoever does has read the cautions.
func (p *player) clockOn(s *Work, at time.Time) error {
	who, on, read, err := p.begins(s)
	if err != nil {
		return err
	}
	_, err = p.shop.Clocks.ClockOn(p.ctx, &workflowv1.ClockOnRequest{RequestId: newRequest(), Person: who, Stage: on.stage, Batch: on.batch, Indirect: on.indirect,
		StartTime: timestamppb.New(at), AcknowledgedCautions: read, OverrideReason: s.Override, Station: stationName(s.Station)})
	return err
}

// switchTo ends what somebody is on and starts the work at the same instant.
func (p *player) switchTo(s *Work, at time.Time) error {
	who, on, read, err := p.begins(s)
	if err != nil {
		return err
	}
	_, err = p.shop.Clocks.SwitchClock(p.ctx, &workflowv1.SwitchClockRequest{RequestId: newRequest(), Person: who, Stage: on.stage, Batch: on.batch, Indirect: on.indirect,
		SwitchTime: timestamppb.New(at), AcknowledgedCautions: read, OverrideReason: s.Override, Station: stationName(s.Station)})
	return err
}

// begins says who begins, at what, and what they have read: each caution of its stages once.
func (p *player) begins(s *Work) (who string, on on, read []string, err error) {
	if who, err = p.person(s.Who); err != nil {
		return who, on, read, err
	}
	if on, err = p.on(s.Target); err != nil {
		return who, on, read, err
	}
	seen := map[string]bool{}
	for _, stage := range on.stages {
		looked, err := p.shop.Stages.GetStage(p.ctx, &workflowv1.GetStageRequest{Name: stage})
		if err != nil {
			return who, on, read, err
		}
		for _, caution := range client.CautionIDs(looked.Stage) {
			if !seen[caution] {
				seen[caution], read = true, append(read, caution)
			}
		}
	}
	return who, on, read, nil
}

func (p *player) clockOff(s *Work, at time.Time) error {
	who, err := p.person(s.Who)
	if err != nil {
		return err
	}
	_, err = p.shop.Clocks.ClockOff(p.ctx, &workflowv1.ClockOffRequest{RequestId: newRequest(), Person: who, EndTime: timestamppb.New(at)})
	return err
}

// pause is a clock that stops and goes on.
func (p *player) pause(s *Pause, c command) ([]command, error) {
	until, err := p.parse(s.Until, p.terms.Zone)
	if err != nil {
		return nil, err
	}
	c.by, c.text = s.Who, fmt.Sprintf("%s pauses", s.Who)
	c.run = func(p *player) error {
		who, err := p.person(s.Who)
		if err != nil {
			return err
		}
		_, err = p.shop.Clocks.PauseClock(p.ctx, &workflowv1.PauseClockRequest{RequestId: newRequest(), Person: who, PauseTime: timestamppb.New(c.at)})
		return err
	}
	resume := command{at: until, by: s.Who, text: fmt.Sprintf("%s goes on", s.Who), run: func(p *player) error {
		who, err := p.person(s.Who)
		if err != nil {
			return err
		}
		_, err = p.shop.Clocks.ResumeClock(p.ctx, &workflowv1.ResumeClockRequest{RequestId: newRequest(), Person: who, ResumeTime: timestamppb.New(until)})
		return err
	}}
	return []command{c, resume}, nil
}

// end finishes what was worked on; an inspection passes.
func end(s *Work, at *timestamppb.Timestamp) (string, run) {
	return fmt.Sprintf("finished: %s", s.name()), func(p *player) error {
		if s.Batch != "" {
			return p.finishBatch(s.Batch, at)
		}
		stage, err := p.stage(s.StageRef)
		if err != nil {
			return err
		}
		looked, err := p.shop.Stages.GetStage(p.ctx, &workflowv1.GetStageRequest{Name: stage})
		if err != nil {
			return err
		}
		if looked.Stage.Kind == "inspect" {
			return p.inspect(&Inspect{StageRef: s.StageRef, Who: s.Who}, at)
		}
		_, err = p.shop.Stages.FinishStage(p.ctx, &workflowv1.FinishStageRequest{RequestId: newRequest(), Stage: stage, FinishTime: at})
		return err
	}
}
