package timeline

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/money"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// payloads are those that workflow writes, by the numbers that are its own in the envelope.
func payloads() (fields []protoreflect.FieldDescriptor) {
	all := (&eventsv1.Envelope{}).ProtoReflect().Descriptor().Oneofs().ByName("payload").Fields()
	for i := range all.Len() {
		if f := all.Get(i); f.Message().ParentFile().Path() == "tackfree/events/v1/workflow.proto" {
			fields = append(fields, f)
		}
	}
	return fields
}

func envelope(f protoreflect.FieldDescriptor, fill bool) *eventsv1.Envelope {
	e := &eventsv1.Envelope{}
	m := e.ProtoReflect().Mutable(f).Message()
	if fill {
		filled(m)
	}
	return e
}

// filled says something in all fields of a message.
func filled(m protoreflect.Message) {
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		f := fields.Get(i)
		switch {
		case f.IsList() && f.Message() != nil:
			filled(m.Mutable(f).List().AppendMutable().Message())
		case f.IsList() && f.Kind() == protoreflect.StringKind:
			m.Mutable(f).List().Append(protoreflect.ValueOfString("word"))
		case f.IsList():
		case f.Message() != nil:
			filled(m.Mutable(f).Message())
		case f.Kind() == protoreflect.StringKind:
			m.Set(f, protoreflect.ValueOfString("word"))
		case f.Kind() == protoreflect.Int32Kind && f.Name() != "month" && f.Name() != "day":
			m.Set(f, protoreflect.ValueOfInt32(2))
		}
	}
}

func teller(t *testing.T) Teller {
	t.Helper()
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	return Teller{Zone: zone, Currency: money.Currency{Code: "USD", Digits: 2}, Names: map[string]string{"s1": "sand (top)", "s2": "topcoat (top)", "s3": "wax", "p1": "top", "b1": "Fronts"}}
}

// Every event that workflow can write has a sentence of its own; nothing is said of what is not
// there.
func TestTeller_KnowsAllThatWorkflowWrites(t *testing.T) {
	tell := teller(t)
	if n := len(payloads()); n < 31 {
		t.Fatalf("%d payloads are workflow's; the numbers of its own are others now", n)
	}
	for _, f := range payloads() {
		if says[f.Name()] == nil {
			t.Errorf("%s: there is no sentence", f.Name())
		}
		tell.Tell(envelope(f, false)) // which some day says less than now
		told := tell.Tell(envelope(f, true))
		if told.Kind != string(f.Name()) || len(told.Text) < 10 || !strings.HasSuffix(told.Text, ".") || strings.ContainsAny(told.Text, "%!") || told.Text[0] < 'A' || told.Text[0] > 'Z' {
			t.Errorf("%s is told as %+v", f.Name(), told)
		}
	}
	for name := range says {
		if (&eventsv1.Envelope{}).ProtoReflect().Descriptor().Fields().ByName(name) == nil {
			t.Errorf("there is a sentence for %s, and no such event", name)
		}
	}
}

// What a sentence looks up is asked for, and nothing else: a clock-on says itself what its stage is
// called.
func TestAsks(t *testing.T) {
	for name, c := range map[string]struct {
		e    *eventsv1.Envelope
		want Asked
	}{
		"Stage":         {&eventsv1.Envelope{Payload: &eventsv1.Envelope_StageFinished{StageFinished: &eventsv1.StageFinished{StageId: "s1"}}}, Asked{Names: true}},
		"Part":          {&eventsv1.Envelope{Payload: &eventsv1.Envelope_PartTested{PartTested: &eventsv1.PartTested{PartId: "p1"}}}, Asked{Names: true}},
		"Clock":         {&eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOn{ClockedOn: &eventsv1.ClockedOn{Span: &eventsv1.ClockSpan{StageId: "s1", StageKey: "sand"}}}}, Asked{}},
		"ClockInABatch": {&eventsv1.Envelope{Payload: &eventsv1.Envelope_ClockedOn{ClockedOn: &eventsv1.ClockedOn{Span: &eventsv1.ClockSpan{StageId: "s1", BatchId: "b1"}}}}, Asked{Batches: []string{"b1"}}},
		"LeftBatch": {&eventsv1.Envelope{Payload: &eventsv1.Envelope_StageLeftBatch{StageLeftBatch: &eventsv1.StageLeftBatch{StageId: "s1", BatchId: "b1"}}},
			Asked{Names: true, Batches: []string{"b1"}}},
		"Unknown": {&eventsv1.Envelope{}, Asked{}},
	} {
		if diff := cmp.Diff(c.want, Asks(c.e)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
	for _, f := range payloads() {
		Asks(envelope(f, false))
		Asks(envelope(f, true))
	}
}

func inBatch(s *eventsv1.ClockSpan, batch string) *eventsv1.ClockSpan {
	s.BatchId = batch
	return s
}

func TestTeller_Tell(t *testing.T) {
	at := func(hour, minute int) *timestamppb.Timestamp {
		return timestamppb.New(time.Date(2026, 3, 2, hour+5, minute, 0, 0, time.UTC)) // New York is 5 hours behind
	}
	span := func(from, to int) *eventsv1.ClockSpan {
		s := &eventsv1.ClockSpan{PersonName: "Nell", StageId: "s1", StageKey: "sand", StageKind: "sand", PartLabel: "top", Pass: 1, Start: at(from, 0)}
		if to > 0 {
			s.End = at(to, 30)
		}
		return s
	}
	usd := func(units int64) *moneyv1.Money { return &moneyv1.Money{CurrencyCode: "USD", Units: units} }
	for want, payload := range map[string]proto.Message{
		"The work was laid out in 7 stages.": &eventsv1.StagesPlanned{Stages: make([]*eventsv1.StagesPlanned_Stage, 7)},
		"Finish plan 1 was approved, with 1 stage; Ana answers for breaking the rule wax-last.": &eventsv1.FinishPlanApproved{PlanVersion: 1,
			Stages: make([]*eventsv1.StagesPlanned_Stage, 1), Overrides: []*eventsv1.RuleOverride{{Rule: "wax-last", PersonName: "Ana"}}},
		"Finish plan 2 came in place of the one before, with 2 stages more and 1 stage less: it bled.": &eventsv1.FinishPlanAmended{PlanVersion: 2,
			Added: make([]*eventsv1.StagesPlanned_Stage, 2), DroppedStageIds: []string{"s9"}, Reason: "it bled."},
		"Sand (top) was given to Nell, with Odo and Ira.":              &eventsv1.StageAssigned{StageId: "s1", PersonId: "1", PersonName: "Nell", HelperNames: []string{"Odo", "Ira"}},
		"Sand (top) was given to Ödön.":                                &eventsv1.StageAssigned{StageId: "s1", PersonId: "1", PersonName: "Ödön"},
		"Sand (top) was given to Nell by the plan that was published.": &eventsv1.StageAssigned{StageId: "s1", PersonId: "1", PersonName: "Nell", Planned: true},
		"Paint coat is nobody's again.":                                &eventsv1.StageAssigned{StageId: "gone", Kind: "paint_coat"},
		"Sand (top) went from Nell to Odo: mind the edge.": &eventsv1.StageHandedOver{StageId: "s1", FromPersonName: "Nell", ToPersonName: "Odo",
			Note: "mind the edge"},
		"Sand (top) was finished.":                  &eventsv1.StageFinished{StageId: "s1", Pass: 1},
		"Sand (top) was finished for the 3rd time.": &eventsv1.StageFinished{StageId: "s1", Pass: 3},
		"Sand (top) was finished for the 12th time, although not all was ready for it: dry by hand.": &eventsv1.StageFinished{StageId: "s1", Pass: 12, OverrideReason: "dry by hand"},
		"Sand (top) was sent back: swirls; to be done again as well: topcoat (top) and wax.": &eventsv1.StageSentBack{StageId: "s1", Reason: "swirls",
			Reopened: []*eventsv1.StageSentBack_Reopened{{StageId: "s1"}, {StageId: "s2"}, {StageId: "s3"}}},
		"Ana looked at topcoat (top) (film) and passed it: like glass.": &eventsv1.StageInspected{StageId: "s2", Point: "film", InspectorName: "Ana", Passed: true, Note: "like glass"},
		"Ana looked at topcoat (top) (film) and did not pass it: orange peel on top; sand (top) has to be done again.": &eventsv1.StageInspected{StageId: "s2", Point: "film",
			InspectorName: "Ana", BackToStageId: "s1", Defects: []*eventsv1.StageInspected_Defect{{Kind: "orange_peel", PartId: "p1"}}},
		"Ana looked at topcoat (top) (film) and passed it, letting be dust nibs on top (by the edge) and runs on the whole piece: from afar.": &eventsv1.StageInspected{StageId: "s2",
			Point: "film", InspectorName: "Ana", Passed: true, Note: "from afar", Defects: []*eventsv1.StageInspected_Defect{{Kind: "dust_nibs", PartId: "p1", Note: "by the edge"}, {Kind: "runs"}}},
		"Ana looked at topcoat (top) (film) and did not pass it: fish eye on top (photo photos/a_b.jpg; at the left_side) and sags on top (photo 7.jpg); sand (top) has to be done again.": &eventsv1.StageInspected{
			StageId: "s2", Point: "film", InspectorName: "Ana", BackToStageId: "s1", Defects: []*eventsv1.StageInspected_Defect{
				{Kind: "fish_eye", PartId: "p1", Photo: "photos/a_b.jpg", Note: "at the left_side"}, {Kind: "sags", PartId: "p1", Photo: "7.jpg"}}},
		"Nell began sand (top) in the batch Fronts.":                 &eventsv1.ClockedOn{Span: inBatch(span(8, 0), "b1")},
		"Nell stopped at sand (top) in the batch Fronts after 2:30.": &eventsv1.ClockedOff{Span: inBatch(span(8, 10), "b1")},
		"Nell began sand (top) in a batch.":                          &eventsv1.ClockedOn{Span: inBatch(span(8, 0), "gone")},
		"The work of Nell at sand (top) was from Mon 2 Mar 2026 08:00 EST to 09:30 and not from Mon 2 Mar 2026 08:00 EST to 10:30: tea.": &eventsv1.ClockEntryCorrected{
			Before: inBatch(span(8, 10), "b1"), After: span(8, 9), Reason: "tea"},
		"Nell was added to the people, who can strip and french polish.":         &eventsv1.PersonAdded{DisplayName: "Nell", Skills: []string{"strip", "french_polish"}},
		"Nell was written down anew.":                                            &eventsv1.PersonChanged{DisplayName: "Nell"},
		"The route painted was written: strip and sand-2.":                       &eventsv1.RouteSaved{Word: "painted", StepKeys: []string{"strip", "sand-2"}},
		"The station booth was written: Spray booth, for 4 pieces.":              &eventsv1.StationSaved{Word: "booth", DisplayName: "Spray booth", Capacity: 4, Unit: "pieces"},
		"The station booth is used no more.":                                     &eventsv1.StationSaved{Word: "booth", Retired: true},
		"The batch Fronts was formed of 2 stages.":                               &eventsv1.BatchFormed{DisplayName: "Fronts", Shares: make([]*eventsv1.BatchFormed_Share, 2)},
		"The plan keeps sand (top) with Nell, from Mon 2 Mar 2026 10:00 EST on.": &eventsv1.StagePinned{StageId: "s1", PersonId: "1", PersonName: "Nell", StartTime: at(10, 0)},
		"The plan keeps sand (top) with Nell.":                                   &eventsv1.StagePinned{StageId: "s1", PersonId: "1", PersonName: "Nell"},
		"A plan was published: what begins by Tue 3 Mar 2026 is given to people, 6 stages to somebody new, 1 stage back to nobody.": &eventsv1.DayPlanned{LastDate: "2026-03-03", AssignedStages: 6, FreedStages: 1},
		"The plan puts paint coat where it fits again.":             &eventsv1.StageUnpinned{StageId: "gone", Kind: "paint_coat"},
		"Nell gave sand (top) back: my wrist.":                      &eventsv1.StageRefused{StageId: "s1", PersonName: "Nell", Reason: "my wrist"},
		"Nell asks Ira to take sand (top) for paint coat: please.":  &eventsv1.SwapOffered{StageId: "s1", PersonName: "Nell", ToPersonName: "Ira", ForStageId: "gone", ForKind: "paint_coat", Note: "please"},
		"Ira took sand (top) from Nell for paint coat.":             &eventsv1.SwapEnded{Outcome: "accepted", StageId: "s1", PersonName: "Nell", ToPersonName: "Ira", ForStageId: "gone", ForKind: "paint_coat"},
		"Ira did not want to take sand (top) from Nell.":            &eventsv1.SwapEnded{Outcome: "declined", StageId: "s1", PersonName: "Nell", ToPersonName: "Ira"},
		"Nell no longer asks Ira to take sand (top).":               &eventsv1.SwapEnded{Outcome: "withdrawn", StageId: "s1", PersonName: "Nell", ToPersonName: "Ira"},
		"Sand (top) was taken out of the batch Fronts.":             &eventsv1.StageLeftBatch{BatchId: "b1", StageId: "s1"},
		"The batch Fronts was finished.":                            &eventsv1.BatchEnded{BatchId: "b1", Finished: true},
		"The batch Fronts is no more; its stages go on one by one.": &eventsv1.BatchEnded{BatchId: "b1"},
		"Nell began sand (top).":                                    &eventsv1.ClockedOn{Span: span(8, 0)},
		"Nell stopped at sand (top) after 2:30.":                    &eventsv1.ClockedOff{Span: span(8, 10)},
		"Nell paused at sand (top) after 2:30.":                     &eventsv1.ClockedOff{Span: span(8, 10), Paused: true},
		"Nell began sand (top), although not all was ready for it (part not ready): it felt dry.": &eventsv1.ClockedOn{Span: span(8, 0), Overridden: []string{"PART_NOT_READY"},
			OverrideReason: "it felt dry"},
		"The work of Nell at sand (top) was from Mon 2 Mar 2026 08:00 EST to 09:30 and not from Mon 2 Mar 2026 08:00 EST to 10:30: lunch.": &eventsv1.ClockEntryCorrected{
			Before: span(8, 10), After: span(8, 9), Reason: "lunch"},
		"The work of Nell at sand (top), from Mon 2 Mar 2026 08:00 EST to 10:30, counts no more: another piece.":   &eventsv1.ClockEntryCorrected{Before: span(8, 10), Reason: "another piece"},
		"The work of Nell at sand (top) was written down later, from Mon 2 Mar 2026 08:00 EST to 10:30: no phone.": &eventsv1.ClockEntryCorrected{After: span(8, 10), Reason: "no phone"},
		"The shift of Nell was over at Mon 2 Mar 2026 16:30 EST and the clock at sand (top) still runs; the lead has to say when the work ended.": &eventsv1.ClockForgotten{
			Span: span(8, 0), ShiftEnd: at(16, 30)},
		"What the lead had to settle about a clock was clocked off: she said so.":                     &eventsv1.ClockReviewSettled{Settlement: "clocked off", Reason: "she said so"},
		"Top was tested for moisture: 9.1 %.":                                                         &eventsv1.PartTested{PartId: "p1", Kind: "moisture", Result: "9.1 %"},
		"The whole piece was tested for lead: accepted; Ana answers for these controls: wet sanding.": &eventsv1.PartTested{Kind: "lead", Result: "accepted", Controls: "wet sanding", PersonName: "Ana"},
		"After topcoat (top), top will likely be dry enough for the next coat on Mon 2 Mar 2026 12:15 EST, and must be coated or scuffed by Mon 2 Mar 2026 18:00 EST.": &eventsv1.PartDryForecastChanged{
			StageId: "s2", PartId: "p1", Needs: "recoat", Ready: at(12, 15), WindowCloses: at(18, 0)},
		"After topcoat (top), top will never be cured in the air where it stands.":                        &eventsv1.PartDryForecastChanged{StageId: "s2", PartId: "p1", Needs: "cured"},
		"After topcoat (top), top was dry enough to sand, by what is known, on Mon 2 Mar 2026 12:15 EST.": &eventsv1.PartReady{StageId: "s2", PartId: "p1", Needs: "sand", Ready: at(12, 15)},
		"What topcoat (top) left on top must be coated by Mon 2 Mar 2026 18:00 EST, or scuffed first.":    &eventsv1.RecoatWindowClosing{StageId: "s2", PartId: "p1", WindowCloses: at(18, 0)},
		"Somebody felt top after topcoat (top); not yet tack-free on Mon 2 Mar 2026 09:00 EST.":           &eventsv1.DryingObserved{StageId: "s2", PartId: "p1", Milestone: "tack-free", NotYet: at(9, 0)},
		"The piece is promised for Mon 2 Mar 2026 17:00 EST, and is worth 450.00 USD.":                    &eventsv1.PiecePromised{PromiseTime: at(17, 0), Value: usd(450)},
		"The piece is promised to nobody.":                                                                &eventsv1.PiecePromised{},
		"Carried to booth: top and case.":                                                                 &eventsv1.PieceMoved{PartLabels: []string{"top", "case"}, Station: "booth"},
		"Carried away from its station: the piece.":                                                       &eventsv1.PieceMoved{},
		"Seat went to Reed & Son for caning, due on Fri 6 Mar 2026, for 85.00 USD.":                       &eventsv1.SentOut{PartLabels: []string{"seat"}, Firm: "Reed & Son", Kind: "caning", Due: &date.Date{Year: 2026, Month: 3, Day: 6}, Quoted: usd(85)},
		"Somebody asked after the work that others do, which is now due on Fri 6 Mar 2026: no cane came.": &eventsv1.OutsideWorkChased{Note: "no cane came", Due: &date.Date{Year: 2026, Month: 3, Day: 6}},
		"What Reed & Son had for caning came back; billed was 90.00 USD.":                                 &eventsv1.OutsideWorkReceived{Firm: "Reed & Son", Kind: "caning", Billed: usd(90), Pass: 1},
		"What Reed & Son had for caning came back undone; billed was nothing.":                            &eventsv1.OutsideWorkReceived{Firm: "Reed & Son", Kind: "caning", CalledOff: true},
		"What others billed was 80.00 USD and not 90.00 USD: a slip.":                                     &eventsv1.OutsideBillCorrected{Before: usd(90), After: usd(80), Reason: "a slip"},
		"Reed & Son was asked about caning, which is now due on Fri 6 Mar 2026: no cane came.": &eventsv1.OutsideWorkChased{Firm: "Reed & Son", Kind: "caning", Note: "no cane came",
			Due: &date.Date{Year: 2026, Month: 3, Day: 6}},
		"What Reed & Son had for seat weaving came back; its bill is yet to come.":      &eventsv1.OutsideWorkReceived{Firm: "Reed & Son", Kind: "seat_weaving", Pass: 1},
		"What Reed & Son billed for caning was 80.00 USD and not 90.00 USD: a slip.":    &eventsv1.OutsideBillCorrected{Firm: "Reed & Son", Kind: "caning", Before: usd(90), After: usd(80), Reason: "a slip"},
		"What Reed & Son billed for seat weaving was 80.00 USD: it came with the post.": &eventsv1.OutsideBillCorrected{Firm: "Reed & Son", Kind: "seat_weaving", After: usd(80), Reason: "it came with the post"},
	} {
		e := &eventsv1.Envelope{}
		for _, f := range payloads() {
			if f.Message().FullName() == payload.ProtoReflect().Descriptor().FullName() {
				e.ProtoReflect().Set(f, protoreflect.ValueOfMessage(payload.ProtoReflect()))
			}
		}
		if got := teller(t).Tell(e).Text; got != want {
			t.Errorf("%T is told as\n%s\nwant\n%s", payload, got, want)
		}
	}
	if got := teller(t).Tell(&eventsv1.Envelope{}); got.Text == "" {
		t.Error("nothing is said of an event that is not known")
	}
}

// Who is told no money reads none in any sentence, and HoldsMoney names the events that have some.
func TestTeller_Moneyless(t *testing.T) {
	var priced func(m protoreflect.Message) bool
	priced = func(m protoreflect.Message) (found bool) {
		m.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
			switch {
			case f.Message() == nil || f.IsList():
			case f.Message().FullName() == "google.type.Money":
				m.Set(f, protoreflect.ValueOfMessage((&moneyv1.Money{CurrencyCode: "USD", Units: 77}).ProtoReflect()))
				found = true
			default:
				found = priced(v.Message()) || found
			}
			return true
		})
		return found
	}
	tell, seen := teller(t), 0
	tell.Moneyless = true
	for _, f := range payloads() {
		for _, calledOff := range []bool{false, true} {
			e := envelope(f, true)
			if r := e.GetOutsideWorkReceived(); r != nil {
				r.CalledOff = calledOff
			}
			if has := priced(e.ProtoReflect()); has != HoldsMoney(e) {
				t.Errorf("HoldsMoney(%s) = %v, and its fields say %v", f.Name(), !has, has)
			} else if has {
				seen++
			}
			if text := tell.Tell(e).Text; strings.Contains(text, "77") || strings.Contains(text, "nothing") || strings.Contains(text, "bill is") {
				t.Errorf("%s is told without money as %q", f.Name(), text)
			}
			if full := teller(t).Tell(e).Text; HoldsMoney(e) && !strings.Contains(full, "77") {
				t.Errorf("%s is told to a lead as %q, without its money", f.Name(), full)
			}
		}
	}
	if seen < 8 {
		t.Errorf("only %d events with money were seen", seen)
	}
}
