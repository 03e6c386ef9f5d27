package cli

import (
	"context"
	"slices"
	"strings"
	"time"

	"github.com/alecthomas/kong"

	"tackfree/pkg/finish"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// longestSearch is as long as a running shop is asked: somebody waits with a finger on the key.
const longestSearch = 300 * time.Millisecond

// listsOfWords are what flags and arguments take that name a word of the contracts, by their command.
var listsOfWords = map[string]struct {
	prefix string
	values map[string]int32
}{
	"batch form --split":         {"SPLIT_", workflowv1.Batch_Split_value},
	"board --state":              {"STATE_", workflowv1.BoardLine_State_value},
	"cost earnings --by":         {"BY_", costingv1.ListEarningsRequest_By_value},
	"cost plan --by":             {"BY_", costingv1.ListPlanActualsRequest_By_value},
	"cost rework --by":           {"BY_", costingv1.ListReworkRequest_By_value},
	"cost rework --of":           {"OF_", costingv1.ListReworkRequest_Of_value},
	"comeback close outcome":     {"OUTCOME_", workflowv1.Comeback_Outcome_value},
	"comeback judge source":      {"SOURCE_", workflowv1.Judgement_Source_value},
	"comeback judge --certainty": {"CERTAINTY_", workflowv1.Judgement_Certainty_value},
	"comeback sources --by":      {"BY_", workflowv1.ListFaultSourcesRequest_By_value},
	"commission list --state":    {"STATE_", intakev1.CommissionOrder_State_value},
	"prospect list --state":      {"STATE_", intakev1.Prospect_State_value},
	"hold list --state":          {"STATE_", salesv1.Hold_State_value},
	"hold add --lapse":           {"LAPSE_RULE_", salesv1.LapseRule_value},
	"hold add --paid-by":         {"DEPOSIT_METHOD_", salesv1.DepositMethod_value},
	"hold release --deposit":     {"LAPSE_RULE_", salesv1.LapseRule_value},
	"deposit list --state":       {"STATE_", salesv1.Deposit_State_value},
	"deposit take --lapse":       {"LAPSE_RULE_", salesv1.LapseRule_value},
	"deposit take --paid-by":     {"DEPOSIT_METHOD_", salesv1.DepositMethod_value},
	"offer list --state":         {"STATE_", salesv1.Offer_State_value},
	"offer accept --lapse":       {"LAPSE_RULE_", salesv1.LapseRule_value},
	"offer accept --paid-by":     {"DEPOSIT_METHOD_", salesv1.DepositMethod_value},
	"hours --by":                 {"BY_", workflowv1.ListHoursRequest_By_value},
	"station save --kind":        {"KIND_", workflowv1.Station_Kind_value},
	"stock needs --state":        {"STATE_", materialsv1.Need_State_value},
	"stock policy method":        {"COST_METHOD_", materialsv1.CostMethod_value},
	"stock waste cause":          {"WASTE_CAUSE_", materialsv1.WasteCause_value},
	"storage oily confirm way":   {"OILY_WASTE_WAY_", materialsv1.OilyWasteWay_value},
	"storage place save --kind":  {"KIND_", materialsv1.Place_Kind_value},
	"storage waste --cause":      {"WASTE_CAUSE_", materialsv1.WasteCause_value},
}

// tradeWords are what flags of these names take, whose words are those of the rules of finishes.
var tradeWords = map[string]func() []string{
	"defect":     func() []string { return wordsOf(finish.Defects()) },
	"species":    finish.SpeciesNames,
	"old-finish": func() []string { return append(wordsOf(finish.Families()), string(finish.UnknownFinish)) },
	"look": func() []string {
		return wordsOf([]finish.Look{finish.Painted, finish.Glazed, finish.Stained, finish.Clear, finish.Oiled, finish.Toned, finish.Ebonised, finish.Limewashed, finish.TwoTone})
	},
}

func wordsOf[W ~string](words []W) (all []string) {
	for _, w := range words {
		all = append(all, string(w))
	}
	return all
}

// values are what a flag or an argument could be; flag is nil of an argument.
func (s *suggester) values(e *env, v *kong.Value, flag *kong.Flag) (all []suggestion) {
	name := strings.TrimPrefix(s.at.FullPath(), "shop ") + " " + v.Name
	if flag != nil {
		name = strings.TrimPrefix(s.at.FullPath(), "shop ") + " --" + flag.Name
	}
	words, listed := listsOfWords[name]
	trade := tradeWords[v.Name]
	switch {
	case v.Enum != "":
		for _, w := range v.EnumSlice() {
			if w != "" {
				all = append(all, suggestion{w, ""})
			}
		}
	case listed:
		for text, n := range words.values {
			if n != 0 {
				all = append(all, suggestion{enumWord(words.prefix, text), ""})
			}
		}
		slices.SortFunc(all, func(a, b suggestion) int { return strings.Compare(a.word, b.word) })
	case trade != nil && flag != nil:
		for _, w := range trade() {
			all = append(all, suggestion{w, ""})
		}
	default:
		return s.fromShop(e, finderOf(name))
	}
	return all
}

// finder reads from the running shop what could be meant.
type finder func(ctx context.Context, shop *client.Shop, s *suggester) ([]suggestion, error)

// finderOf is what finds values of a flag or argument of a command; nil: nothing does.
func finderOf(name string) finder {
	switch _, last, _ := cutLast(name, " "); last {
	case "piece", "--piece", "work":
		return piecesFound
	case "who", "--who", "--person", "--as":
		return peopleFound
	case "stage", "--stage", "--back-to":
		return stagesFound
	case "prospect":
		return prospectsFound
	case "client":
		return clientsFound
	case "part", "--part":
		return partsFound
	case "commission":
		return commissionsFound
	}
	switch name {
	case "person show name", "person change name", "stage hand-over from", "stage hand-over to", "equipment service --by", "plan approve --by", "comeback plan --by",
		"plan check --by", "plan amend --by":
		return peopleFound
	}
	return nil
}

func cutLast(text, sep string) (before, after string, found bool) {
	at := strings.LastIndex(text, sep)
	if at < 0 {
		return "", text, false
	}
	return text[:at], text[at+len(sep):], true
}

// fromShop asks the shop that the line is for, if it is there and answers at once.
func (s *suggester) fromShop(e *env, find finder) (all []suggestion) {
	if find == nil {
		return nil
	}
	ctx, done := context.WithTimeout(e.ctx, longestSearch)
	defer done()
	asks := *e
	asks.ctx = ctx
	asks.reach = s.reach(e.reach)
	if err := asks.with(func(shop *client.Shop) (err error) {
		all, err = find(ctx, shop, s)
		return err
	}); err != nil {
		return nil
	}
	return all
}

// reach is where the shop is that the line is for.
func (s *suggester) reach(otherwise reach) reach {
	for name, to := range map[string]*string{"intake-addr": &otherwise.IntakeAddr, "workflow-addr": &otherwise.WorkflowAddr, "materials-addr": &otherwise.MaterialsAddr,
		"sales-addr": &otherwise.SalesAddr, "costing-addr": &otherwise.CostingAddr, "shop": (*string)(&otherwise.Shop)} {
		if said := s.said[name]; said != "" {
			*to = said
		}
	}
	return otherwise
}
