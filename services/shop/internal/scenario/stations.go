package scenario

import (
	"cmp"
	"fmt"

	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// stationName is the resource name of a station; of none it is empty.
func stationName(word string) string {
	if word == "" {
		return ""
	}
	return "stations/" + word
}

func station(s *Station) (string, run) {
	return fmt.Sprintf("work is done at the station %s", s.Name), func(p *player) error {
		st := &workflowv1.Station{Name: stationName(s.Word), DisplayName: s.Name, Capacity: s.Capacity, StageKinds: s.Work, ChangeoverMinutes: s.Changeover,
			Kind: workflowv1.Station_Kind(workflowv1.Station_Kind_value["KIND_"+s.Kind]), Unit: workflowv1.Station_Unit(workflowv1.Station_Unit_value["UNIT_"+s.Unit])}
		if s.Zone != "" {
			st.Zone = "climateZones/" + s.Zone
		}
		var err error
		if st.OpenHours, err = client.OpenHours(s.Open); err != nil {
			return err
		}
		_, err = p.shop.Stations.SaveStation(p.ctx, &workflowv1.SaveStationRequest{RequestId: newRequest(), Station: st})
		return err
	}
}

func move(s *Move, at *timestamppb.Timestamp) (string, run) {
	return fmt.Sprintf("piece %s %s is carried to %s", s.Piece, s.Part, cmp.Or(s.Station, "where there is room")), func(p *player) error {
		piece, part, err := p.part(s.Piece, s.Part)
		if err != nil {
			return err
		}
		_, err = p.shop.Stations.MovePiece(p.ctx, &workflowv1.MovePieceRequest{RequestId: newRequest(), Piece: piece.name, Part: part, Station: stationName(s.Station), MoveTime: at})
		return err
	}
}

// part finds a piece and a part of it by its label; no label is the whole piece.
func (p *player) part(tag, label string) (*piece, string, error) {
	piece, err := p.piece(tag)
	if err != nil || label == "" {
		return piece, "", err
	}
	if name := piece.parts[label]; name != "" {
		return piece, name, nil
	}
	return nil, "", fmt.Errorf("piece %s has no part %q", tag, label)
}

// handOver is a hand-over, and perhaps the end of what the other does.
func (p *player) handOver(s *HandOver, c command) ([]command, error) {
	c.text = fmt.Sprintf("%s hands %s of piece %s over to %s", s.From, s.Stage, s.Piece, s.To)
	c.run = func(p *player) error {
		from, err := p.person(s.From)
		if err != nil {
			return err
		}
		to, on, read, err := p.begins(&Work{Target: Target{StageRef: s.StageRef}, Who: s.To})
		if err != nil {
			return err
		}
		_, err = p.shop.Stages.HandOverStage(p.ctx, &workflowv1.HandOverStageRequest{RequestId: newRequest(), Stage: on.stage, From: from, To: to,
			HandOverTime: timestamppb.New(c.at), Note: s.Note, ClockOn: s.ClockOn, AcknowledgedCautions: read})
		return err
	}
	ends, err := p.ends(&Work{Target: Target{StageRef: s.StageRef}, Who: s.To, Until: s.Until, Finish: s.Finish})
	return append([]command{c}, ends...), err
}

func claim(s *Claim) (string, run) {
	return fmt.Sprintf("%s claims %s of piece %s", s.Who, s.Stage, s.Piece), func(p *player) error {
		stage, err := p.stage(s.StageRef)
		if err != nil {
			return err
		}
		who, err := p.person(s.Who)
		if err != nil {
			return err
		}
		_, err = p.shop.Stages.ClaimStage(p.ctx, &workflowv1.ClaimStageRequest{RequestId: newRequest(), Person: who, Stage: stage})
		return err
	}
}

func promise(s *Promise) (string, run) {
	return fmt.Sprintf("piece %s is promised for %s", s.Piece, s.By), func(p *player) error {
		piece, err := p.piece(s.Piece)
		if err != nil {
			return err
		}
		r := &workflowv1.PromisePieceRequest{RequestId: newRequest(), Piece: piece.name}
		if r.PromiseTime, err = p.optional(s.By); err != nil {
			return err
		}
		if r.Value, err = p.money(s.Value); err != nil {
			return err
		}
		_, err = p.shop.Stages.PromisePiece(p.ctx, r)
		return err
	}
}
