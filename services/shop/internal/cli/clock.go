package cli

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"strings"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type clockCmd struct {
	On      clockOnCmd     `cmd:"" help:"Clock somebody on at a stage, at a batch, or at what belongs to no piece."`
	Off     clockOffCmd    `cmd:"" help:"Clock somebody off."`
	Switch  switchCmd      `cmd:"" help:"Clock somebody off here and on there, at one instant; with --finish what they leave is finished."`
	Pause   pauseCmd       `cmd:"" help:"Clock somebody off for a while."`
	Resume  resumeCmd      `cmd:"" help:"Go on with what somebody paused from."`
	Record  recordCmd      `cmd:"" help:"Write down work that nobody clocked."`
	Correct correctCmd     `cmd:"" help:"Correct a closed entry, or with --take-away remove it; the old one is kept. Of a week whose payroll is closed the difference counts in the next one that is open."`
	Send    sendCmd        `cmd:"" help:"Send entries that were kept while a device was offline."`
	List    listEntriesCmd `cmd:"" help:"List clock entries."`
	Review  reviewCmd      `cmd:"" help:"What the lead has to settle about clocks."`
}

// targetArgs name what somebody is on: a stage, all stages of a batch, or what belongs to no
// piece.
type targetArgs struct {
	Piece    string `arg:"" optional:"" help:"Tag number."`
	Stage    string `arg:"" optional:"" help:"Title, such as 'sand (top)', or the key where only one stage has it."`
	Batch    string `help:"In place of piece and stage: all stages of this batch." placeholder:"NAME" xor:"target"`
	Indirect string `help:"In place of piece and stage: cleaning, pick_up, training …, what belongs to no piece." placeholder:"KIND" xor:"target"`
}

// target are the three of which one is named, as the contract has them.
type target struct{ stage, batch, indirect string }

func (a targetArgs) find(ctx context.Context, shop *client.Shop) (t target, err error) {
	t.indirect = kindWord(a.Indirect)
	switch one := a.Batch != "" || a.Indirect != ""; {
	case one && a.Piece != "":
		return t, errors.New("say either a piece and its stage, or --batch, or --indirect")
	case !one && (a.Piece == "" || a.Stage == ""):
		return t, errors.New("say the piece and its stage, or --batch, or --indirect")
	case a.Batch != "":
		b, err := shop.Batch(ctx, a.Batch)
		t.batch = b.GetName()
		return t, err
	case a.Piece != "":
		st, err := stageArgs{a.Piece, a.Stage}.find(ctx, shop)
		t.stage = st.GetName()
		return t, err
	}
	return t, nil
}

// kindWord is a kind in the words of the contract, however somebody typed it: Pick-up is pick_up.
func kindWord(typed string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(typed), func(r rune) bool { return strings.ContainsRune(" -_", r) }), "_")
}

// cautionFlags say what somebody has read.
type cautionFlags struct {
	Acknowledge []string `help:"Cautions of the stage that they have read, as the refusal names them." placeholder:"CAUTION,…" sep:"none"`
}

// cautions are the ids, typed one by one or with commas between them.
func (c *cautionFlags) cautions() []string { return words(c.Acknowledge) }

// words are what was typed one by one or with commas between them.
func words(typed []string) (all []string) {
	for _, text := range typed {
		for word := range strings.SplitSeq(text, ",") {
			if word = strings.TrimSpace(word); word != "" {
				all = append(all, word)
			}
		}
	}
	return all
}

// startFlags are what somebody says who begins.
type startFlags struct {
	cautionFlags
	Override string `help:"Why it starts although the part, the station or the air is not ready for it." placeholder:"REASON"`
	Station  string `help:"Where it is done, and to which the parts are carried; without it, where they stand." placeholder:"STATION"`
}

// withFlag says of cautions that are to be read first what then is to be typed.
func withFlag(err error) error {
	f := fault.Of(err)
	if f == nil || f.Reason != "CAUTIONS_NOT_ACKNOWLEDGED" {
		return err
	}
	return fault.New(f.Kind, f.Reason, "%s Type the line again with --acknowledge %s.", f.Text, f.Meta["cautions"])
}

// whoArgs say whose clock it is, and when.
type whoArgs struct {
	timed
	Who string `arg:"" help:"Display name."`
}

// hands finds them.
func (c *whoArgs) hands(e *env, shop *client.Shop) (*workflowv1.Person, *timestamppb.Timestamp, error) {
	who, err := shop.Person(e.ctx, c.Who)
	if err != nil {
		return nil, nil, err
	}
	at, err := c.at(e.ctx, shop)
	return who, at, err
}

// startArgs say who begins what.
type startArgs struct {
	whoArgs
	targetArgs
	startFlags
}

// starting is what startArgs mean.
type starting struct {
	who     *workflowv1.Person
	on      target
	at      *timestamppb.Timestamp
	station string
}

func (c *startArgs) read(e *env, shop *client.Shop) (s starting, err error) {
	if s.who, s.at, err = c.hands(e, shop); err != nil {
		return s, err
	}
	if s.on, err = c.find(e.ctx, shop); err != nil {
		return s, err
	}
	s.station, err = optionalStation(e, shop, c.Station)
	return s, err
}

type clockOnCmd struct{ startArgs }

func (c *clockOnCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		s, err := c.read(e, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Clocks.ClockOn(e.ctx, &workflowv1.ClockOnRequest{RequestId: c.request(), Person: s.who.Name, Stage: s.on.stage, Batch: s.on.batch, Indirect: s.on.indirect,
			StartTime: s.at, AcknowledgedCautions: c.cautions(), OverrideReason: c.Override, Station: s.station})
		if err != nil {
			return withFlag(err)
		}
		return c.print(e, resp, func() error { return sayOn(e, shop, s.who, resp.ClockEntries, resp.Notices) })
	})
}

// sayOn says what somebody is on now, of a batch the first of its entries, and what is to be known of it.
func sayOn(e *env, shop *client.Shop, who *workflowv1.Person, entries []*workflowv1.ClockEntry, notices []string) error {
	terms, err := shop.Terms(e.ctx)
	if err != nil {
		return err
	}
	on, err := onOf(e, shop, first(entries), len(entries))
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(e.out, "%s is on the clock at %s since %s.\n", who.DisplayName, on, terms.Clock(first(entries).GetStartTime()))
	for _, n := range notices {
		fmt.Fprintln(e.out, oneLine(n))
	}
	return err
}

// onOf names what an entry is on; of a batch the first of so many.
func onOf(e *env, shop *client.Shop, entry *workflowv1.ClockEntry, entries int) (string, error) {
	switch {
	case entry.GetIndirect() != "":
		return report.Kind(entry.Indirect), nil
	case entry.GetBatch() != "":
		return fmt.Sprintf("a batch of %d stages", entries), nil
	}
	title, err := titleOf(e, client.NewTitles(shop), entry.GetStage(), entry.GetStageKind())
	return fmt.Sprintf("%s of piece %d", title, entry.GetPieceTag()), err
}

type clockOffCmd struct{ whoArgs }

func (c *clockOffCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		who, at, err := c.hands(e, shop)
		if err != nil {
			return err
		}
		resp, err := shop.Clocks.ClockOff(e.ctx, &workflowv1.ClockOffRequest{RequestId: c.request(), Person: who.Name, EndTime: at})
		if err != nil {
			return err
		}
		return c.print(e, resp, func() error { return sayOff(e, shop, who, "off the clock", resp.ClockEntry, len(resp.ClockEntries)) })
	})
}

// sayOff says how long somebody was on what they now are off: of a batch the first of its
// entries tells.
func sayOff(e *env, shop *client.Shop, who *workflowv1.Person, state string, entry *workflowv1.ClockEntry, entries int) error {
	on, err := onOf(e, shop, entry, entries)
	if err != nil {
		return err
	}
	start, end := cmp.Or(entry.GetStretchStartTime(), entry.GetStartTime()), cmp.Or(entry.GetStretchEndTime(), entry.GetEndTime())
	_, err = fmt.Fprintf(e.out, "%s is %s after %s at %s.\n", who.DisplayName, state, report.Length(end.AsTime().Sub(start.AsTime())), on)
	return err
}

// titleOf is what people call a stage; its kind, should its piece no longer have it.
func titleOf(e *env, titles *client.Titles, stage, kind string) (string, error) {
	title, err := titles.Of(e.ctx, stage)
	return cmp.Or(title, report.Kind(kind)), err
}
