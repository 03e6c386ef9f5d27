// Package story says what happened to a piece, in the reader's language: a sentence for each event.
//
//	logs of intake, workflow, materials, sales ──▶ events of a piece, by time ──▶ Teller ──▶ sentences
//
// A sentence is made of what its event holds, as far as the reader was told it: without an amount that was
// withheld it says the rest. What stages and parts are called is looked up, as they are called now.
package story

import (
	"path"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/timestamppb"

	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/words"
)

// Teller tells one reader what happened to one piece.
type Teller struct {
	voice  *words.Voice
	stages map[string]*workflowv1.Stage // by id
	parts  map[string]string            // labels by id
	client bool                         // it is a client's own
	places map[string]string            // what stations are called, by their words
}

// New makes a teller of a piece and its stages.
func New(v *words.Voice, p *intakev1.Piece, stages []*workflowv1.Stage) Teller {
	t := Teller{voice: v, stages: map[string]*workflowv1.Stage{}, parts: map[string]string{}, client: p.GetCommission() != nil}
	for _, part := range p.GetParts() {
		t.parts[path.Base(part.Name)] = part.Label
	}
	for _, s := range stages {
		t.stages[path.Base(s.Name)] = s
	}
	return t
}

// At is the teller when it knows what stations are called.
func (t Teller) At(stations []*workflowv1.Station) Teller {
	t.places = map[string]string{}
	for _, s := range stations {
		t.places[path.Base(s.Name)] = s.DisplayName
	}
	return t
}

// place is what a station is called; one that nobody knows, by its word, readable.
func (t Teller) place(word string) string {
	if called := t.places[word]; called != "" {
		return called
	}
	return strings.ReplaceAll(word, "-", " ")
}

// says are the sentences for the payloads of the envelope, by field.
var says = map[protoreflect.Name]func(Teller, *words.Voice, *eventsv1.Envelope) string{
	"piece_taken_in": takenIn, "piece_scrapped": scrapped, "purchase_corrected": purchaseCorrected,
	"estimate_drafted": estimateDrafted, "estimate_answered": estimateAnswered, "change_order_noted": changeOrderNoted,
	"commission_cancelled": commissionCancelled, "commission_piece_brought": commissionPieceBrought, "commission_finished": commissionFinished,
	"photo_added": photoAdded, "photo_described": photoDescribed, "photo_removed": photoRemoved,
	"part_assessed": partAssessed,

	"piece_listed": listed, "asking_price_changed": askingChanged, "piece_sold": sold, "sale_refunded": refunded,
	"piece_held": pieceHeld, "hold_ended": holdEnded, "deposit_taken": depositTaken, "deposit_settled": depositSettled, "offer_made": offerMade, "offer_ended": offerEnded,
	"payment_received": paymentReceived, "payment_voided": paymentVoided,
	"listing_withdrawn": withdrawn, "listing_channels_changed": channelsChanged,
	"markdown_plan_set": markdownPlanned, "markdown_plan_dropped": markdownDropped, "markdown_step_skipped": markdownSkipped,

	"material_issued": issued, "material_taken_back": takenBack, "material_returned": returned, "material_wasted": wasted,
	"material_recosted": recosted, "stock_entry_undone": undone,

	"stages_planned": planned, "finish_plan_approved": approved, "finish_plan_amended": amended, "work_stopped": stopped,
	"piece_left_floor": leftFloor, "piece_back_on_floor": backOnFloor,
	"stage_assigned": assigned, "stage_handed_over": handedOver, "stage_finished": finished, "stage_sent_back": sentBack,
	"stage_inspected": inspected, "stage_pinned": pinned, "stage_unpinned": unpinned,
	"comeback_opened": comebackOpened, "comeback_planned": comebackPlanned, "comeback_judged": comebackJudged, "comeback_closed": comebackClosed,
	"stage_refused": refusedStage, "swap_offered": swapOffered, "swap_ended": swapEnded,

	"clocked_on": clockedOn, "clocked_off": clockedOff, "clock_entry_corrected": clockCorrected,
	"clock_forgotten": clockForgotten, "clock_entry_set_aside": clockSetAside, "clock_review_settled": reviewSettled,

	"part_tested": tested, "part_dry_forecast_changed": dryForecast, "part_ready": ready, "recoat_window_closing": closing,
	"drying_observed": felt,

	"piece_promised": promised, "piece_moved": moved, "sent_out": sentOut, "outside_work_chased": chased,
	"outside_work_received": received, "outside_bill_corrected": billCorrected,
}

// Tell puts an event into a sentence. Of a kind that this copy of the program does not know it gives the name.
func (t Teller) Tell(e *eventsv1.Envelope) string {
	m := e.ProtoReflect()
	field := m.WhichOneof(m.Descriptor().Oneofs().ByName("payload"))
	if field == nil {
		return t.voice.T("story.unknown")
	}
	say, known := says[field.Name()]
	if !known {
		return sentence(strings.ReplaceAll(string(field.Name()), "_", " "))
	}
	return sentence(say(t, t.voice, e))
}

// Actor is who did it; what services do by themselves, in the reader's language.
func (t Teller) Actor(e *eventsv1.Envelope) string {
	if key := "story.actor." + strings.ReplaceAll(e.Actor, " ", "_"); t.voice.Has(key) {
		return t.voice.T(key)
	}
	return e.Actor
}

// stage is what a stage is called; one that is no more, by its kind.
func (t Teller) stage(id, kind string) string {
	s := t.stages[id]
	if s == nil {
		return t.work(&eventsv1.ClockSpan{StageKind: kind})
	}
	return t.work(&eventsv1.ClockSpan{StageKind: s.Kind, StageKey: s.Key, PartLabel: s.PartLabel})
}

// work is what somebody was on: in English by its own key, which tells the second sanding from the first; in another
// language by its kind, for keys are English.
func (t Teller) work(s *eventsv1.ClockSpan) string {
	name := s.GetStageKey()
	if name == "" || t.voice.Language != words.Languages[0] && t.voice.Has("kind."+s.GetStageKind()) {
		name = t.voice.Stage(s.GetStageKind(), s.GetStageKey())
	}
	switch {
	case name == "":
		return t.voice.T("story.a.stage")
	case s.GetPartLabel() != "":
		return name + " (" + s.GetPartLabel() + ")"
	}
	return name
}

// part is what a part is called; no id is the whole piece.
func (t Teller) part(id string) string {
	switch label := t.parts[id]; {
	case id == "":
		return t.voice.T("story.whole.piece")
	case label != "":
		return label
	}
	return t.voice.T("story.a.part")
}

// labels are parts as an event calls them; none are the whole piece.
func (t Teller) labels(all []string) string {
	if len(all) == 0 {
		return t.voice.T("story.whole.piece")
	}
	return t.list(all)
}

// list is things in words: top, case and drawers.
func (t Teller) list(things []string) string {
	if len(things) < 2 {
		return strings.Join(things, "")
	}
	return strings.Join(things[:len(things)-1], ", ") + t.voice.T("story.and") + things[len(things)-1]
}

func (t Teller) at(ts *timestamppb.Timestamp) string {
	return t.voice.Day(ts) + " " + t.voice.Clock(ts)
}

func (t Teller) on(d *date.Date) string {
	return t.voice.DayOf(time.Date(int(d.GetYear()), time.Month(d.GetMonth()), int(d.GetDay()), 12, 0, 0, 0, t.voice.Zone))
}

// because is a reason or a note behind what it is of; empty: there is none.
func because(reason string) string {
	if reason = strings.TrimRight(strings.TrimSpace(reason), "."); reason == "" {
		return ""
	}
	return ": " + reason
}

// sentence makes one: it begins with a capital and ends with a full stop.
func sentence(s string) string {
	s = strings.TrimRight(s, ". ")
	first, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[size:] + "."
}
