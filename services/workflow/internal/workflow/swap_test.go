package workflow_test

import (
	"fmt"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// swapping is two benches: Nell has the stripping of the one, Ira that of the other, and Tom neither.
type swapping struct {
	ours, theirs   *bench
	nell, ira, tom *workflow.Person
}

func newSwapping(t *testing.T) *swapping {
	t.Helper()
	s := &swapping{newBench(), newBench(), helper("Nell", "strip"), helper("Ira", "strip"), helper("Tom", "strip")}
	s.theirs.Piece.Tag = 8
	assign(t, s.ours, s.nell)
	assign(t, s.theirs, s.ira)
	return s
}

// assign gives somebody the stripping of a bench.
func assign(t *testing.T, b *bench, to *workflow.Person) {
	t.Helper()
	if _, err := b.Assign(b.strip, to, false, nine); err != nil {
		t.Fatal(err)
	}
}

// givings are what changes hands: Nell's stripping for Ira's.
func (s *swapping) givings() []workflow.Giving {
	return []workflow.Giving{{Plan: &s.ours.Plan, Stage: s.ours.strip, From: *s.nell, To: *s.ira}, {Plan: &s.theirs.Plan, Stage: s.theirs.strip, From: *s.ira, To: *s.nell}}
}

// offered is Nell's offer of hers for his.
func (s *swapping) offered(t *testing.T) workflow.Swap {
	t.Helper()
	w, err := workflow.OfferSwap(id.New(), s.givings(), nil, "I am at the booth all day", nine)
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// Nothing changes hands by an offer; accepted, both do, and whoever has a stage beside them keeps it.
func TestSwap_Accept(t *testing.T) {
	s := newSwapping(t)
	if _, err := s.ours.Assign(s.ours.strip, s.tom, true, nine); err != nil {
		t.Fatal(err)
	}
	w := s.offered(t)
	s.ours.wantWhose(t, s.ours.strip, "Nell", "Tom")
	stages, err := w.Accept(*s.ira, s.givings(), nine.Add(time.Hour))
	if err != nil || len(stages) != 2 || stages[0].ID != s.ours.strip || stages[1].ID != s.theirs.strip {
		t.Fatalf("Accept = %v, %v", stages, err)
	}
	s.ours.wantWhose(t, s.ours.strip, "Ira", "Tom")
	s.theirs.wantWhose(t, s.theirs.strip, "Nell")
	if w.State != workflow.SwapAccepted || !w.EndedAt.Equal(nine.Add(time.Hour)) {
		t.Errorf("the swap is %s since %v", w.State, w.EndedAt)
	}
}

// Two stages of one piece change hands as those of two do, and one for nothing.
func TestSwap_Accept_OnOnePiece(t *testing.T) {
	s := newSwapping(t)
	if _, err := s.ours.Assign(s.ours.sand, s.ira, false, nine); err != nil {
		t.Fatal(err)
	}
	givings := s.givings()
	givings[1].Plan, givings[1].Stage = &s.ours.Plan, s.ours.sand
	for _, g := range [][]workflow.Giving{givings, {{Plan: &s.theirs.Plan, Stage: s.theirs.strip, From: *s.ira, To: *s.tom}}} {
		w, err := workflow.OfferSwap(id.New(), g, nil, "", nine)
		if err != nil {
			t.Fatal(err)
		}
		to := g[0].To
		if _, err := w.Accept(to, g, nine); err != nil {
			t.Fatal(err)
		}
	}
	s.ours.wantWhose(t, s.ours.strip, "Ira")
	s.ours.wantWhose(t, s.ours.sand, "Nell")
	s.theirs.wantWhose(t, s.theirs.strip, "Tom")
}

// Only who was asked answers, only who asked takes it back, and each only once.
func TestSwap_EndsOnce(t *testing.T) {
	for _, c := range []struct {
		name string
		end  func(*workflow.Swap, workflow.Person, []workflow.Giving) error
		by   string
		as   workflow.SwapState
	}{
		{"Accept", func(w *workflow.Swap, by workflow.Person, g []workflow.Giving) error {
			_, err := w.Accept(by, g, nine)
			return err
		}, "Ira", workflow.SwapAccepted},
		{"Decline", func(w *workflow.Swap, by workflow.Person, g []workflow.Giving) error { return w.Decline(by, g, nine) }, "Ira", workflow.SwapDeclined},
		{"Withdraw", func(w *workflow.Swap, by workflow.Person, g []workflow.Giving) error { return w.Withdraw(by, g, nine) }, "Nell", workflow.SwapWithdrawn},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newSwapping(t)
			w := s.offered(t)
			for _, p := range []*workflow.Person{s.nell, s.ira, s.tom} {
				if p.Name == c.by {
					continue
				}
				refusedWords(t, c.end(&w, *p, s.givings()), "SWAP_OF_OTHERS", "This is for "+c.by+" to say, not for "+p.Name)
			}
			by := *s.ira
			if c.by == "Nell" {
				by = *s.nell
			}
			if err := c.end(&w, by, s.givings()); err != nil || w.State != c.as {
				t.Fatalf("it is %s, %v", w.State, err)
			}
			refusedWords(t, c.end(&w, by, s.givings()), "SWAP_ENDED", "was "+string(c.as))
		})
	}
}

// An offer is over when it can no longer be done as it was meant, on either side, and says why.
func TestSwap_Overtaken(t *testing.T) {
	sides := []func(*swapping) (b *bench, has, gets *workflow.Person){
		func(s *swapping) (*bench, *workflow.Person, *workflow.Person) { return s.ours, s.nell, s.ira },
		func(s *swapping) (*bench, *workflow.Person, *workflow.Person) { return s.theirs, s.ira, s.nell },
	}
	for reason, change := range map[string]func(t *testing.T, b *bench, s *swapping, gets *workflow.Person){
		"SWAP_FINISHED": func(t *testing.T, b *bench, _ *swapping, _ *workflow.Person) { b.finish(t, b.strip) },
		"SWAP_SENT_BACK": func(t *testing.T, b *bench, _ *swapping, _ *workflow.Person) {
			b.finish(t, b.strip)
			if _, err := b.SendBack(b.strip, nine); err != nil {
				t.Fatal(err)
			}
		},
		"SWAP_GIVEN_AWAY": func(t *testing.T, b *bench, s *swapping, _ *workflow.Person) { assign(t, b, s.tom) },
		"SWAP_SHARED": func(t *testing.T, b *bench, _ *swapping, gets *workflow.Person) {
			if _, err := b.Assign(b.strip, gets, true, nine); err != nil {
				t.Fatal(err)
			}
		},
		"SWAP_OFF_FLOOR": func(_ *testing.T, b *bench, _ *swapping, _ *workflow.Person) { b.Piece.SoldAt = nine },
	} {
		for i, side := range sides {
			t.Run(fmt.Sprint(reason, i), func(t *testing.T) {
				s := newSwapping(t)
				w := s.offered(t)
				b, _, gets := side(s)
				change(t, b, s, gets)
				var now []workflow.Standing
				for _, g := range s.givings() {
					n, err := g.Standing()
					if err != nil {
						t.Fatal(err)
					}
					now = append(now, n)
				}
				if said := w.Overtaken(now); said == nil || said.Reason != reason || said.Figures["stage"] != "strip" {
					t.Errorf("Overtaken = %+v, want %s", said, reason)
				}
				_, err := w.Accept(*s.ira, s.givings(), nine)
				refusedWords(t, err, "SWAP_ENDED", "by itself: ")
				if w.State != workflow.SwapOpen {
					t.Errorf("refused, and it is %s", w.State)
				}
			})
		}
	}
}

// What stands in the way of either side of an offer also stands in the way of accepting it, and then it stays open.
func TestGiving_May(t *testing.T) {
	for reason, change := range map[string]func(s *swapping, givings []workflow.Giving){
		"STAGE_HAS_OPEN_CLOCK": func(s *swapping, _ []workflow.Giving) { s.ours.OnIt[s.ours.strip] = []string{"Nell"} },
		"STAGE_PINNED": func(s *swapping, g []workflow.Giving) {
			g[1].Pin = &workflow.PlanPin{Stage: s.theirs.strip, Pass: 1, Person: s.ira.ID}
		},
		"SKILL_MISSING":   func(_ *swapping, g []workflow.Giving) { g[0].To.Skills = nil },
		"PERSON_INACTIVE": func(_ *swapping, g []workflow.Giving) { g[1].To.ActiveTo = day(1) },
	} {
		t.Run(reason, func(t *testing.T) {
			s := newSwapping(t)
			w, g := s.offered(t), s.givings()
			change(s, g)
			if _, err := workflow.OfferSwap(id.New(), g, nil, "", nine); fault.Reason(err) != reason {
				t.Errorf("OfferSwap = %v, want %s", err, reason)
			}
			if _, err := w.Accept(*s.ira, g, nine); fault.Reason(err) != reason || w.State != workflow.SwapOpen {
				t.Errorf("Accept = %v, want %s; it is %s", err, reason, w.State)
			}
			s.ours.wantWhose(t, s.ours.strip, "Nell")
			s.theirs.wantWhose(t, s.theirs.strip, "Ira")
		})
	}
	s := newSwapping(t)
	g := s.givings()
	for _, pin := range []*workflow.PlanPin{{Stage: s.ours.strip, Pass: 1, At: nine}, {Stage: s.ours.strip, Pass: 2, Person: s.nell.ID}} {
		if g[0].Pin = pin; fault.Reason(second(workflow.OfferSwap(id.New(), g, nil, "", nine))) != "" {
			t.Errorf("a pin %+v, which says nothing of who does it now, is in the way", pin)
		}
	}
}

func second[T any](_ T, err error) error { return err }

func TestOfferSwap_Refuses(t *testing.T) {
	s := newSwapping(t)
	open := s.offered(t)
	offer := func(open *workflow.Swap, g ...workflow.Giving) error {
		return second(workflow.OfferSwap(id.New(), g, open, "", nine))
	}
	g := s.givings()
	same, toTom, shared, sold := g[0], g[0], g[0], g[1]
	same.To, toTom.From = same.From, *s.tom
	refusedWords(t, offer(nil, same), "SAME_PERSON", "Nell cannot swap with themselves")
	refusedWords(t, offer(&open, g...), "SWAP_OPEN", "to Ira already")
	refusedWords(t, offer(nil, toTom), "NOT_THEIRS", "Tom does not have strip; Nell has it")
	if err := offer(nil, g[0], workflow.Giving{Plan: g[1].Plan, Stage: g[1].Stage, From: *s.tom, To: *s.nell}); fault.Reason(err) != "NOT_THEIRS" || fault.Of(err).Fields[0].Path != "for_stage" {
		t.Errorf("what is wanted and not theirs: %+v", fault.Of(err))
	}
	if _, err := s.ours.Assign(s.ours.strip, s.ira, true, nine); err != nil {
		t.Fatal(err)
	}
	refusedWords(t, offer(nil, shared), "THEIRS_ALREADY", "Ira has strip already")
	s.theirs.Piece.SoldAt = nine
	refusedWords(t, offer(nil, sold), "PIECE_SOLD", "Piece 8 was sold")
}

// Whoever gives a stage back no longer has it; others who have it keep it, and the first of them is its assignee.
func TestPlan_Refuse(t *testing.T) {
	s := newSwapping(t)
	b := s.ours
	if _, err := b.Assign(b.strip, s.tom, true, nine); err != nil {
		t.Fatal(err)
	}
	b.OnIt[b.strip] = []string{"Tom"} // which does not keep Nell from it
	r, stage, err := b.Refuse(b.strip, *s.nell, nil, "my wrist")
	if want := (workflow.StageRefusal{Stage: b.strip, Person: s.nell.ID, Pass: 1, Reason: "my wrist"}); err != nil || r != want || stage.ID != b.strip {
		t.Fatalf("Refuse = %+v, %v; want %+v", r, err, want)
	}
	b.wantWhose(t, b.strip, "Tom")
	_, _, err = b.Refuse(b.strip, *s.nell, nil, "")
	refusedWords(t, err, "NOT_THEIRS", "Nell does not have strip; Tom has it")
	_, _, err = b.Refuse(b.strip, *s.tom, nil, "")
	refusedWords(t, err, "STAGE_HAS_OPEN_CLOCK", "Tom")
	delete(b.OnIt, b.strip)
	_, _, err = b.Refuse(b.strip, *s.tom, &workflow.PlanPin{Stage: b.strip, Pass: 1, Person: s.tom.ID}, "")
	refusedWords(t, err, "STAGE_PINNED", "strip where a lead pinned it")
	if _, _, err := b.Refuse(b.strip, *s.tom, nil, ""); err != nil {
		t.Fatal(err)
	}
	b.wantWhose(t, b.strip)
}
