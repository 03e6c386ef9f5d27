package scenario

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"google.golang.org/protobuf/types/known/timestamppb"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// step turns what happens into commands.
func (p *player) step(s *Step) ([]command, error) {
	c := command{at: s.when, by: s.By}
	if c.by == "" {
		c.by = p.owner()
	}
	at := timestamppb.New(s.when)
	switch {
	case s.TakeIn != nil:
		c.text, c.run = takeIn(s.TakeIn, at)
	case s.LeadTest != nil:
		c.text, c.run = leadTest(s.LeadTest, at)
	case s.Plan != nil:
		c.text, c.run = plan(s.Plan, at)
	case s.Learn != nil:
		c.text, c.run = learn(s.Learn)
	case s.Assign != nil:
		c.text, c.run = assign(s.Assign, at)
	case s.Work != nil:
		return p.work(s.Work, c, p.clockOn)
	case s.Finish != nil:
		c.text, c.run = finish(*s.Finish, at)
	case s.SendBack != nil:
		c.text, c.run = sendBack(s.SendBack, at)
	case s.Correct != nil:
		c.text, c.run = correct(s.Correct)
	case s.Receive != nil:
		c.text, c.run = receive(s.Receive, at)
	case s.Issue != nil:
		c.text, c.run = issue(s.Issue, at)
	case s.TakeBack != nil:
		c.text, c.run = takeBack(s.TakeBack, at)
	case s.List != nil:
		c.text, c.run = list(s.List, at)
	case s.Reprice != nil:
		c.text, c.run = reprice(s.Reprice, at)
	case s.Sell != nil:
		c.text, c.run = sell(s.Sell, at)
	case s.Refund != nil:
		c.text, c.run = refund(s.Refund, at)
	case s.Scrap != nil:
		c.text, c.run = scrap(s.Scrap, at)
	default:
		return p.finishing(s, c, at)
	}
	return []command{c}, nil
}

// finishing turns what has to do with films and air into commands.
func (p *player) finishing(s *Step, c command, at *timestamppb.Timestamp) ([]command, error) {
	switch {
	case s.Zone != nil:
		c.text, c.run = zone(s.Zone)
	case s.Air != nil:
		c.text, c.run = air(s.Air, at)
	case s.FinishPlan != nil:
		c.text, c.run = finishPlan(s.FinishPlan)
	case s.Again != nil:
		c.text, c.run = anotherCoat(s.Again)
	case s.Felt != nil:
		c.text, c.run = felt(s.Felt)
	default:
		return p.onFloor(s, c, at)
	}
	return []command{c}, nil
}

// onFloor turns what people do with each other, with stations and with others into commands.
func (p *player) onFloor(s *Step, c command, at *timestamppb.Timestamp) ([]command, error) {
	switch {
	case s.Switch != nil:
		return p.work(s.Switch, c, p.switchTo)
	case s.Pause != nil:
		return p.pause(s.Pause, c)
	case s.Move != nil:
		c.text, c.run = move(s.Move, at)
	case s.HandOver != nil:
		return p.handOver(s.HandOver, c)
	case s.Claim != nil:
		c.text, c.run = claim(s.Claim)
	case s.Promise != nil:
		c.text, c.run = promise(s.Promise)
	case s.Batch != nil:
		c.text, c.run = form(s.Batch)
	case s.Inspect != nil:
		c.text, c.run = inspect(s.Inspect, at)
	case s.SendOut != nil:
		c.text, c.run = sendOut(s.SendOut, at)
	case s.Chase != nil:
		c.text, c.run = chase(s.Chase, at)
	case s.Bill != nil:
		c.text, c.run = bill(s.Bill)
	case s.Back != nil:
		c.text, c.run = back(s.Back, at)
	case s.Send != nil:
		c.text, c.run = send(s.Send)
	case s.Settle != nil:
		c.text, c.run = settle(s.Settle)
	case s.LockWeek != nil:
		c.text, c.run = lockWeek(s.LockWeek)
	default:
		return nil, errors.New("nothing happens in it")
	}
	return []command{c}, nil
}

type run = func(*player) error

func takeIn(t *TakeIn, at *timestamppb.Timestamp) (string, run) {
	text := fmt.Sprintf("piece %d comes in: %s", t.Tag, t.Title)
	return text, func(p *player) error {
		r := &intakev1.TakeInPieceRequest{RequestId: newRequest(), Tag: t.Tag, Title: t.Title, Kind: t.Kind, TakenInTime: at}
		price, err := p.money(t.Price)
		if err != nil {
			return err
		}
		if t.Client != "" {
			r.Origin = &intakev1.TakeInPieceRequest_Commission{Commission: &intakev1.Commission{Client: t.Client}}
		} else {
			r.Origin = &intakev1.TakeInPieceRequest_Purchase{Purchase: &intakev1.Purchase{Price: price, Source: t.Source}}
		}
		for _, part := range t.Parts {
			r.Parts = append(r.Parts, &intakev1.Part{Label: part.Label, Count: part.Count, Length: part.Length.message(), Width: part.Width.message()})
		}
		resp, err := p.shop.Intake.TakeInPiece(p.ctx, r)
		if err != nil {
			return err
		}
		known := &piece{name: resp.Piece.Name, title: resp.Piece.Title, parts: map[string]string{}, stages: map[string]string{}, issues: map[string]string{}, out: map[string]string{}}
		for _, part := range resp.Piece.Parts {
			known.parts[part.Label] = part.Name
		}
		p.pieces[fmt.Sprint(t.Tag)] = known
		return nil
	}
}

func leadTest(s *LeadTest, at *timestamppb.Timestamp) (string, run) {
	where := ""
	if s.Part != "" {
		where = ", " + s.Part
	}
	return fmt.Sprintf("piece %s%s is tested for lead: %s", s.Piece, where, s.Result), func(p *player) error {
		piece, err := p.piece(s.Piece)
		if err != nil {
			return err
		}
		r := &workflowv1.RecordLeadTestRequest{RequestId: newRequest(), Piece: piece.name, TestTime: at}
		if r.Part = piece.parts[s.Part]; s.Part != "" && r.Part == "" {
			return fmt.Errorf("piece %s has no part %q", s.Piece, s.Part)
		}
		result := workflowv1.Lead_Result(workflowv1.Lead_Result_value["RESULT_"+strings.ToUpper(s.Result)])
		r.Lead = &workflowv1.Lead{Result: result}
		_, err = p.shop.Tests.RecordLeadTest(p.ctx, r)
		return err
	}
}

func plan(s *Plan, at *timestamppb.Timestamp) (string, run) {
	return fmt.Sprintf("piece %s is planned: %s", s.Piece, s.Route), func(p *player) error {
		piece, err := p.piece(s.Piece)
		if err != nil {
			return err
		}
		r := &workflowv1.PlanStagesRequest{RequestId: newRequest(), Piece: piece.name, Route: "routes/" + s.Route, PlanTime: at}
		for _, label := range slices.Sorted(maps.Keys(s.Parts)) {
			if piece.parts[label] == "" {
				return fmt.Errorf("piece %s has no part %q", s.Piece, label)
			}
			r.Parts = append(r.Parts, &workflowv1.PlanStagesRequest_PartRoute{Part: piece.parts[label], Route: "routes/" + s.Parts[label]})
		}
		resp, err := p.shop.Stages.PlanStages(p.ctx, r)
		for _, st := range resp.GetStages() {
			piece.stages[client.Title(st)] = st.Name
		}
		return err
	}
}

func assign(s *Assign, at *timestamppb.Timestamp) (string, run) {
	return fmt.Sprintf("%s gets %s of piece %s", s.Who, s.Stage, s.Piece), func(p *player) error {
		stage, err := p.stage(s.StageRef)
		if err != nil {
			return err
		}
		who, err := p.person(s.Who)
		if err != nil {
			return err
		}
		_, err = p.shop.Stages.AssignStage(p.ctx, &workflowv1.AssignStageRequest{
			RequestId: newRequest(), Stage: stage, Person: who, AssignTime: at, Beside: s.Beside})
		return err
	}
}

func finish(s StageRef, at *timestamppb.Timestamp) (string, run) {
	return fmt.Sprintf("finished: %s of piece %s", s.Stage, s.Piece), func(p *player) error {
		stage, err := p.stage(s)
		if err != nil {
			return err
		}
		_, err = p.shop.Stages.FinishStage(p.ctx, &workflowv1.FinishStageRequest{RequestId: newRequest(), Stage: stage, FinishTime: at})
		return err
	}
}

func sendBack(s *SendBack, at *timestamppb.Timestamp) (string, run) {
	return fmt.Sprintf("sent back: %s of piece %s (%s)", s.Stage, s.Piece, s.Reason), func(p *player) error {
		stage, err := p.stage(s.StageRef)
		if err != nil {
			return err
		}
		_, err = p.shop.Stages.SendBackStage(p.ctx, &workflowv1.SendBackStageRequest{RequestId: newRequest(), Stage: stage, Reason: s.Reason, SendBackTime: at})
		return err
	}
}

func correct(s *Correct) (string, run) {
	return fmt.Sprintf("%s's entry of %s is corrected: %s", s.Who, s.From, s.Reason), func(p *player) error {
		entry, err := p.entry(s)
		if err != nil {
			return err
		}
		change := &workflowv1.CorrectClockEntryRequest_Replacement{}
		if change.StartTime, err = p.optional(s.Start); err != nil {
			return err
		}
		if change.EndTime, err = p.optional(s.End); err != nil {
			return err
		}
		_, err = p.shop.Clocks.CorrectClockEntry(p.ctx, &workflowv1.CorrectClockEntryRequest{
			RequestId: newRequest(), ClockEntry: entry, Reason: s.Reason, Replacement: change})
		return err
	}
}

// entry finds a person's entry that counts by its start.
func (p *player) entry(s *Correct) (string, error) {
	who, err := p.person(s.Who)
	if err != nil {
		return "", err
	}
	from, err := p.parse(s.From, p.terms.Zone)
	if err != nil {
		return "", err
	}
	r, err := p.shop.Clocks.ListClockEntries(p.ctx, &workflowv1.ListClockEntriesRequest{Person: who, PageSize: 1000})
	if err != nil {
		return "", err
	}
	for _, e := range r.ClockEntries {
		if e.StartTime.AsTime().Equal(from) && !e.Superseded {
			return e.Name, nil
		}
	}
	return "", fmt.Errorf("%s has no entry that starts at %s", s.Who, s.From)
}

func (p *player) optional(local string) (*timestamppb.Timestamp, error) {
	if local == "" {
		return nil, nil
	}
	t, err := p.parse(local, p.terms.Zone)
	return timestamppb.New(t), err
}
