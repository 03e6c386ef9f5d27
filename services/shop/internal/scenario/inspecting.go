package scenario

import (
	"fmt"

	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

func inspect(s *Inspect, at *timestamppb.Timestamp) (string, run) {
	found := "good"
	if s.BackTo != "" {
		found = "not good, back to " + s.BackTo
	}
	return fmt.Sprintf("%s looks at %s of piece %s: %s", s.Who, s.Stage, s.Piece, found), func(p *player) error { return p.inspect(s, at) }
}

func (p *player) inspect(s *Inspect, at *timestamppb.Timestamp) error {
	stage, err := p.stage(s.StageRef)
	if err != nil {
		return err
	}
	who, err := p.person(s.Who)
	if err != nil {
		return err
	}
	r := &workflowv1.RecordInspectionRequest{RequestId: newRequest(), Stage: stage, Inspector: who, Passed: s.BackTo == "", Note: s.Note, InspectTime: at}
	if s.BackTo != "" {
		if r.BackTo, err = p.stage(StageRef{s.Piece, s.BackTo}); err != nil {
			return err
		}
	}
	for _, d := range s.Defects {
		_, part, err := p.part(s.Piece, d.Part)
		if err != nil {
			return err
		}
		r.Defects = append(r.Defects, &workflowv1.Defect{Kind: d.Kind, Part: part, Photo: d.Photo, Note: d.Note})
	}
	_, err = p.shop.Inspections.RecordInspection(p.ctx, r)
	return err
}

func sendOut(s *SendOut, at *timestamppb.Timestamp) (string, run) {
	return fmt.Sprintf("piece %s %s goes to %s: %s", s.Piece, s.Part, s.Firm, s.Kind), func(p *player) error {
		piece, part, err := p.part(s.Piece, s.Part)
		if err != nil {
			return err
		}
		r := &workflowv1.SendOutRequest{RequestId: newRequest(), Piece: piece.name, Part: part, Kind: s.Kind, Firm: s.Firm, SendTime: at}
		if s.Stage != "" {
			if r.Stage, err = p.stage(StageRef{s.Piece, s.Stage}); err != nil {
				return err
			}
		}
		if r.Quoted, err = p.money(s.Quoted); err != nil {
			return err
		}
		if r.DueDate, err = client.Day(s.Due); err != nil {
			return err
		}
		resp, err := p.shop.Outside.SendOut(p.ctx, r)
		piece.out[s.Part] = resp.GetOutsideWork().GetName()
		return err
	}
}

// outside finds the last work that others did on a part.
func (p *player) outside(tag, part string) (string, error) {
	piece, err := p.piece(tag)
	if err != nil {
		return "", err
	}
	if name := piece.out[part]; name != "" {
		return name, nil
	}
	return "", fmt.Errorf("piece %s %s was not sent out", tag, part)
}

func chase(s *Chase, at *timestamppb.Timestamp) (string, run) {
	return fmt.Sprintf("somebody asks after piece %s %s: %s", s.Piece, s.Part, s.Note), func(p *player) error {
		work, err := p.outside(s.Piece, s.Part)
		if err != nil {
			return err
		}
		due, err := client.Day(s.Due)
		if err != nil {
			return err
		}
		_, err = p.shop.Outside.ChaseOutsideWork(p.ctx, &workflowv1.ChaseOutsideWorkRequest{RequestId: newRequest(), OutsideWork: work, Note: s.Note, DueDate: due, ChaseTime: at})
		return err
	}
}

func back(s *Back, at *timestamppb.Timestamp) (string, run) {
	return fmt.Sprintf("piece %s %s is back", s.Piece, s.Part), func(p *player) error {
		work, err := p.outside(s.Piece, s.Part)
		if err != nil {
			return err
		}
		r := &workflowv1.ReceiveOutsideWorkRequest{RequestId: newRequest(), OutsideWork: work, Station: stationName(s.Station), ReceiveTime: at}
		if r.Billed, err = p.money(s.Billed); err != nil {
			return err
		}
		_, err = p.shop.Outside.ReceiveOutsideWork(p.ctx, r)
		return err
	}
}

func bill(s *Bill) (string, run) {
	return fmt.Sprintf("the bill for piece %s %s was %s: %s", s.Piece, s.Part, s.Billed, s.Reason), func(p *player) error {
		work, err := p.outside(s.Piece, s.Part)
		if err != nil {
			return err
		}
		r := &workflowv1.CorrectOutsideBillRequest{RequestId: newRequest(), OutsideWork: work, Reason: s.Reason}
		if r.Billed, err = p.money(s.Billed); err != nil {
			return err
		}
		_, err = p.shop.Outside.CorrectOutsideBill(p.ctx, r)
		return err
	}
}
