package scenario

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// Zone is a place whose air is read.
type Zone struct {
	Word string `json:"word"`
	Name string `json:"name"`
	Kind string `json:"kind"` // BENCH_ROOM, BOOTH, RACK or OUTDOORS
}

// Air is a reading in a zone.
type Air struct {
	Zone     string  `json:"zone"`
	Celsius  float64 `json:"celsius"`
	Humidity float64 `json:"humidity"`
}

// FinishPlan drafts a plan and approves it. Wishes are a DraftFinishPlanRequest in the
// API's own JSON, with parts by label and products by name.
type FinishPlan struct {
	Piece  string          `json:"piece"`
	Wishes json.RawMessage `json:"wishes"`
}

// AnotherCoat amends the plan of a piece: a stage is done once more, after itself.
type AnotherCoat struct {
	StageRef
	Key    string `json:"key"`
	Reason string `json:"reason"`
}

// Felt is what somebody felt of a film; one of the times at least is said.
type Felt struct {
	StageRef
	Milestone string `json:"milestone"` // TACK_FREE, RECOAT …
	NotYet    string `json:"not_yet,omitempty"`
	Reached   string `json:"reached,omitempty"`
}

func zone(s *Zone) (string, run) {
	return fmt.Sprintf("the air is read in the %s", s.Name), func(p *player) error {
		kind := workflowv1.ClimateZone_Kind(workflowv1.ClimateZone_Kind_value["KIND_"+s.Kind])
		_, err := p.shop.Climate.SaveZone(p.ctx, &workflowv1.SaveZoneRequest{RequestId: newRequest(),
			Zone: &workflowv1.ClimateZone{Name: "climateZones/" + s.Word, DisplayName: s.Name, Kind: kind}})
		return err
	}
}

func air(s *Air, at *timestamppb.Timestamp) (string, run) {
	return fmt.Sprintf("%.1f °C and %.0f %% relative humidity in the zone %s", s.Celsius, s.Humidity, s.Zone), func(p *player) error {
		_, err := p.shop.Climate.RecordReading(p.ctx, &workflowv1.RecordReadingRequest{RequestId: newRequest(),
			Reading: &workflowv1.Reading{Zone: "climateZones/" + s.Zone, ReadTime: at, Celsius: s.Celsius, HumidityPercent: s.Humidity}})
		return err
	}
}

func finishPlan(s *FinishPlan) (string, run) {
	return fmt.Sprintf("piece %s gets a finish plan", s.Piece), func(p *player) error {
		piece, err := p.piece(s.Piece)
		if err != nil {
			return err
		}
		r, err := p.wishes(piece, s.Wishes)
		if err != nil {
			return err
		}
		if _, err := p.shop.Finish.DraftFinishPlan(p.ctx, r); err != nil {
			return err
		}
		resp, err := p.shop.Finish.ApproveFinishPlan(p.ctx, &workflowv1.ApproveFinishPlanRequest{RequestId: newRequest(), Piece: piece.name})
		piece.learn(resp.GetStages())
		return err
	}
}

// wishes reads a request and puts the names of the piece, its parts and the products in.
func (p *player) wishes(piece *piece, text json.RawMessage) (*workflowv1.DraftFinishPlanRequest, error) {
	r := &workflowv1.DraftFinishPlanRequest{}
	if err := protojson.Unmarshal(text, r); err != nil {
		return nil, err
	}
	r.RequestId, r.Piece = newRequest(), piece.name
	products := slices.Clone(r.Products)
	for _, w := range r.Parts {
		label := w.Part
		if w.Part = piece.parts[label]; w.Part == "" {
			return nil, fmt.Errorf("the piece has no part %q", label)
		}
		products = append(products, w.Products...)
	}
	for _, c := range products {
		name, err := p.product(c.Product)
		if err != nil {
			return nil, err
		}
		c.Product = name
	}
	return r, nil
}

func (p *piece) learn(stages []*workflowv1.Stage) {
	for _, st := range stages {
		p.stages[client.Title(st)] = st.Name
	}
}

func anotherCoat(s *AnotherCoat) (string, run) {
	return fmt.Sprintf("piece %s gets %s once more (%s)", s.Piece, s.Stage, s.Reason), func(p *player) error {
		piece, err := p.piece(s.Piece)
		if err != nil {
			return err
		}
		shown, err := p.shop.Finish.GetFinishPlan(p.ctx, &workflowv1.GetFinishPlanRequest{Name: piece.name})
		if err != nil {
			return err
		}
		stages, err := s.twice(shown.Plan.Stages)
		if err != nil {
			return err
		}
		resp, err := p.shop.Finish.AmendFinishPlan(p.ctx, &workflowv1.AmendFinishPlanRequest{RequestId: newRequest(), Piece: piece.name, Stages: stages, Reason: s.Reason})
		piece.learn(resp.GetStages())
		return err
	}
}

// twice puts a copy of the stage after it, and what came after it after the copy.
func (s *AnotherCoat) twice(stages []*workflowv1.PlannedStage) ([]*workflowv1.PlannedStage, error) {
	at := slices.IndexFunc(stages, func(st *workflowv1.PlannedStage) bool { return titleOf(st) == s.Stage })
	if at < 0 {
		return nil, fmt.Errorf("the plan of piece %s has no stage %q", s.Piece, s.Stage)
	}
	again := proto.CloneOf(stages[at])
	again.Key, again.Begun, again.After = s.Key, false, []string{s.Stage}
	for _, st := range stages {
		for i, before := range st.After {
			if before == s.Stage {
				st.After[i] = titleOf(again)
			}
		}
	}
	return slices.Insert(stages, at+1, again), nil
}

func titleOf(st *workflowv1.PlannedStage) string {
	return client.Title(&workflowv1.Stage{Key: st.Key, PartLabel: st.PartLabel})
}

func (s *Felt) request(p *player, stage string) (r *workflowv1.ObserveDryingRequest, err error) {
	milestone := workflowv1.ObserveDryingRequest_Milestone_value["MILESTONE_"+s.Milestone]
	r = &workflowv1.ObserveDryingRequest{RequestId: newRequest(), Stage: stage, Milestone: workflowv1.ObserveDryingRequest_Milestone(milestone)}
	if r.NotYetTime, err = p.optional(s.NotYet); err != nil {
		return nil, err
	}
	r.ReachedTime, err = p.optional(s.Reached)
	return r, err
}

func felt(s *Felt) (string, run) {
	said := strings.ToLower(strings.ReplaceAll(s.Milestone, "_", " "))
	return fmt.Sprintf("somebody felt %s of piece %s: %s", s.Stage, s.Piece, said), func(p *player) error {
		stage, err := p.stage(s.StageRef)
		if err != nil {
			return err
		}
		r, err := s.request(p, stage)
		if err != nil {
			return err
		}
		_, err = p.shop.Climate.ObserveDrying(p.ctx, r)
		return err
	}
}
