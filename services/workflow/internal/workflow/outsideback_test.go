package workflow_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/money"
	"tackfree/services/workflow/internal/workflow"
)

// What it cost is what somebody says, or what was quoted if it was done.
func TestPlan_Receive_Bill(t *testing.T) {
	for name, c := range map[string]struct {
		quoted, billed *money.Amount
		calledOff      bool
		want           *money.Amount
	}{
		"AsQuoted":          {minor(8500), nil, false, minor(8500)},
		"AsSaid":            {minor(8500), minor(9150), false, minor(9150)},
		"ForNothing":        {minor(8500), minor(0), false, minor(0)},
		"NobodyQuoted":      {nil, nil, false, nil},
		"CalledOff":         {minor(8500), nil, true, nil},
		"CalledOffAtAPrice": {minor(8500), minor(1500), true, minor(1500)},
	} {
		t.Run(name, func(t *testing.T) {
			ch := newChair()
			s := ch.seatOut()
			s.Quoted = c.quoted
			o := ch.sends(t, s)
			if err := ch.Receive(&o, workflow.Receipt{Billed: c.billed, CalledOff: c.calledOff, At: hoursOn(1)}); err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(c.want, o.Billed); diff != "" {
				t.Errorf("billed (-want +got):\n%s", diff)
			}
		})
	}
}

// The stage that others did is finished when their work is back, in its pass; but not if it was
// called off, if the piece was given up, or if what comes before it was sent back meanwhile.
func TestPlan_Receive_FinishesItsStage(t *testing.T) {
	for name, c := range map[string]struct {
		done      bool
		pass      int32
		calledOff bool
		change    func(*chair)
	}{
		"Done":           {true, 1, false, func(*chair) {}},
		"InItsNextPass":  {true, 2, false, func(c *chair) { c.Stages[1].SentBack = []time.Time{nine.Add(-time.Minute)} }},
		"CalledOff":      {false, 1, true, func(*chair) {}},
		"Scrapped":       {false, 1, false, func(c *chair) { c.Piece.Scrapped = true }},
		"SentBackBefore": {false, 1, false, func(c *chair) { _, _ = c.SendBack(c.paint, hoursOn(1)) }},
	} {
		t.Run(name, func(t *testing.T) {
			ch := newChair()
			if name == "InItsNextPass" {
				c.change(ch)
			}
			o := ch.sends(t, ch.seatOut())
			if name != "InItsNextPass" {
				c.change(ch)
			}
			if err := ch.Receive(&o, workflow.Receipt{CalledOff: c.calledOff, At: hoursOn(2)}); err != nil || o.Pass != c.pass {
				t.Fatalf("Receive = %v, pass %d, want %d", err, o.Pass, c.pass)
			}
			s, err := ch.Done(o, workflow.Entry{})
			cane := ch.Stages[1]
			if err != nil || (s != nil) != c.done || cane.Finished() != c.done || (c.done && !cane.FinishedAt.Equal(hoursOn(2))) {
				t.Errorf("Done = %v, %v; the stage was finished on %v", s, err, cane.FinishedAt)
			}
			if len(ch.Away) != 0 {
				t.Errorf("away: %v", ch.Away)
			}
		})
	}
	ch := newChair()
	o := ch.sends(t, ch.seatOut())
	if err := ch.Receive(&o, workflow.Receipt{At: nine.Add(-time.Minute)}); reason(err) != "BACK_BEFORE_SENT" || o.State != workflow.Out {
		t.Errorf("Receive before it went = %v", err)
	}
	none := ch.seatOut()
	none.Part, none.Stage, none.At = ch.frame, id.Nil, nine.Add(30*time.Second)
	o = ch.sends(t, none)
	if err := ch.Receive(&o, workflow.Receipt{At: nine}); err != nil || o.Pass != 1 || !o.BackAt.Equal(none.At) {
		t.Fatalf("Receive in the very minute = %v, back at %v in pass %d", err, o.BackAt, o.Pass)
	}
	if s, err := ch.Done(o, workflow.Entry{}); s != nil || err != nil {
		t.Errorf("work for no stage finishes %v, %v", s, err)
	}
}

// While a part is out nobody finishes its stages here, nor those of the whole piece; other
// parts go on, and anything may be sent back.
func TestPlan_WhileAPartIsOut(t *testing.T) {
	c := newChair()
	c.sends(t, c.seatOut())
	for _, stage := range []id.ID{c.cane, c.inspect} {
		if _, err := c.Finish(stage, hoursOn(1), workflow.Entry{}); reason(err) != "PART_AWAY" {
			t.Errorf("Finish = %v, want PART_AWAY", err)
		}
	}
	if _, err := c.SendBack(c.paint, hoursOn(1)); err != nil {
		t.Fatal(err)
	}
	if _, err := c.Finish(c.paint, hoursOn(2), workflow.Entry{}); err != nil {
		t.Errorf("Finish of the frame = %v", err)
	}
}

// Work that nobody quoted or billed waits for its bill, which may say that it cost nothing.
func TestOutside_CorrectBill_TheFirst(t *testing.T) {
	for _, billed := range []money.Amount{0, 9150} {
		c := newChair()
		s := c.seatOut()
		s.Quoted = nil
		o := c.sends(t, s)
		if o.Unbilled() {
			t.Error("while it is out it waits for no bill")
		}
		if err := c.Receive(&o, workflow.Receipt{At: hoursOn(1)}); err != nil || !o.Unbilled() {
			t.Fatalf("Receive = %v; it waits for its bill: %v", err, o.Unbilled())
		}
		if err := o.CorrectBill(billed); err != nil || o.Unbilled() || o.Bill() != billed {
			t.Errorf("CorrectBill(%d) = %v; billed is %d", billed, err, o.Bill())
		}
		if err := o.CorrectBill(billed); reason(err) != "CORRECTION_CHANGES_NOTHING" {
			t.Errorf("CorrectBill(%d) again = %v", billed, err)
		}
	}
}

func TestOutside_CorrectBill(t *testing.T) {
	o := workflow.Outside{Kind: "caning", State: workflow.Back, Billed: minor(8500)}
	if err := o.CorrectBill(8500); reason(err) != "CORRECTION_CHANGES_NOTHING" || fault.Of(err).Fields[0].Path != "billed" {
		t.Errorf("CorrectBill to the same = %v", err)
	}
	if err := o.CorrectBill(8400); err != nil || *o.Billed != 8400 {
		t.Errorf("CorrectBill = %v, %v", *o.Billed, err)
	}
	off := workflow.Outside{Kind: "caning", State: workflow.CalledOff}
	if err := off.CorrectBill(0); reason(err) != "CORRECTION_CHANGES_NOTHING" || off.Unbilled() {
		t.Errorf("CorrectBill of what was called off to zero = %v; its bill is yet to come: %v", err, off.Unbilled())
	}
}
