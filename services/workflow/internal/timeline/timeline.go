// Package timeline says in sentences what happened on the floor, from the events about it.
//
// A sentence is made of what its event holds, so that it stays as it was said; only what stages,
// parts and batches are called is looked up, as they are called now.
package timeline

import (
	"fmt"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/money"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
)

// Teller tells what happened.
type Teller struct {
	Zone     *time.Location // of the shop, in which times are told
	Currency money.Currency
	Names    map[string]string // what stages, parts and batches are called, by id
	// Moneyless: told to somebody who is told no money.
	Moneyless bool

	asked *Asked // what was looked up and is not known is noted there
}

// Asked is what has to be looked up before events can be told of.
type Asked struct {
	Names   bool     // of stages or parts of the event's piece
	Batches []string // ids
}

// Asks is what the sentence of an event looks up.
func Asks(e *eventsv1.Envelope) (asked Asked) {
	Teller{Zone: time.UTC, asked: &asked}.Tell(e)
	return asked
}

// HoldsMoney reports whether the sentence of an event says what something is worth or costs. Such a
// sentence looks nothing up.
func HoldsMoney(e *eventsv1.Envelope) bool {
	switch e.GetPayload().(type) {
	case *eventsv1.Envelope_PiecePromised, *eventsv1.Envelope_SentOut, *eventsv1.Envelope_OutsideWorkReceived, *eventsv1.Envelope_OutsideBillCorrected:
		return true
	}
	return false
}

// PieceOf is the id of the piece that an event is about, or a stage in it; empty: of none.
func PieceOf(e *eventsv1.Envelope) string {
	if e.PieceId != "" {
		return e.PieceId
	}
	return e.GetStageLeftBatch().GetPieceId()
}

// Told is an event in words.
type Told struct {
	Kind  string // clocked_on, stage_finished …
	Text  string
	Stage string // the id of the one that it is about; empty: none, or several
}

// says are the sentences for the payloads of the envelope, by field.
var says = map[protoreflect.Name]func(Teller, *eventsv1.Envelope) Told{
	"stages_planned":        stagesPlanned,
	"finish_plan_approved":  planApproved,
	"finish_plan_amended":   planAmended,
	"stage_assigned":        stageAssigned,
	"stage_handed_over":     stageHandedOver,
	"stage_finished":        stageFinished,
	"stage_sent_back":       stageSentBack,
	"stage_inspected":       stageInspected,
	"stage_pinned":          stagePinned,
	"stage_unpinned":        stageUnpinned,
	"stage_refused":         stageRefused,
	"swap_offered":          swapOffered,
	"swap_ended":            swapEnded,
	"work_stopped":          workStopped,
	"piece_left_floor":      leftFloor,
	"piece_back_on_floor":   backOnFloor,
	"comeback_opened":       comebackOpened,
	"comeback_planned":      comebackPlanned,
	"comeback_judged":       comebackJudged,
	"comeback_closed":       comebackClosed,
	"clocked_on":            clockedOn,
	"clocked_off":           clockedOff,
	"clock_entry_corrected": clockCorrected,
	"clock_forgotten":       clockForgotten,
	"clock_entry_set_aside": clockSetAside,
	"clock_review_settled":  reviewSettled,

	"part_tested":               partTested,
	"part_dry_forecast_changed": forecastChanged,
	"part_ready":                partReady,
	"recoat_window_closing":     windowClosing,
	"drying_observed":           dryingObserved,

	"piece_promised":         piecePromised,
	"piece_moved":            pieceMoved,
	"sent_out":               sentOut,
	"outside_work_chased":    chased,
	"outside_work_received":  received,
	"outside_bill_corrected": billCorrected,

	"person_added":     personAdded,
	"person_changed":   personChanged,
	"route_saved":      routeSaved,
	"station_saved":    stationSaved,
	"batch_formed":     batchFormed,
	"stage_left_batch": stageLeftBatch,
	"batch_ended":      batchEnded,
	"day_planned":      dayPlanned,
}

// Tell puts an event into words. Of one that it does not know, as a newer copy of the service
// may write, it says what it is called.
func (t Teller) Tell(e *eventsv1.Envelope) Told {
	m := e.ProtoReflect()
	field := m.WhichOneof(m.Descriptor().Oneofs().ByName("payload"))
	if field == nil {
		return Told{Text: "Something happened that this copy of the service does not know."}
	}
	say, known := says[field.Name()]
	if !known {
		return Told{Kind: string(field.Name()), Text: sentence("%s", words(string(field.Name())))}
	}
	told := say(t, e)
	told.Kind = string(field.Name())
	return told
}

// stage is what a stage is called; one that is no more, by its kind.
func (t Teller) stage(id, kind string) string {
	if title := t.Names[id]; title != "" {
		return title
	}
	if t.asked != nil {
		t.asked.Names = true
	}
	if kind != "" {
		return words(kind)
	}
	return "a stage"
}

// part is what a part is called; no id is the whole piece.
func (t Teller) part(id string) string {
	switch label := t.Names[id]; {
	case id == "":
		return "the whole piece"
	case label != "":
		return label
	}
	if t.asked != nil {
		t.asked.Names = true
	}
	return "a part"
}

// batch is what a batch is called.
func (t Teller) batch(id string) string {
	if name := t.Names[id]; name != "" {
		return "the batch " + name
	}
	if t.asked != nil && id != "" {
		t.asked.Batches = append(t.asked.Batches, id)
	}
	return "a batch"
}

// parts are parts as an event calls them; none are the whole piece.
func parts(labels []string) string {
	if len(labels) == 0 {
		return "the piece"
	}
	return list(labels)
}

// at is an instant in words.
func (t Teller) at(ts *timestamppb.Timestamp) string {
	return ts.AsTime().In(t.Zone).Format("Mon 2 Jan 2006 15:04 MST")
}

func on(d *date.Date) string {
	return time.Date(int(d.GetYear()), time.Month(d.GetMonth()), int(d.GetDay()), 0, 0, 0, 0, time.UTC).Format("Mon 2 Jan 2006")
}

// money is an amount in words: 85.00 USD; none is nothing.
func (t Teller) money(m *moneyv1.Money) string {
	if m == nil {
		return "nothing"
	}
	a, _ := wire.FromMoney(m, t.Currency.Digits) // as ToMoney wrote it
	return t.Currency.Format(a) + " " + m.CurrencyCode
}

// words are an identifier as people write it: topcoat coat.
func words(identifier string) string { return strings.ReplaceAll(identifier, "_", " ") }

// list is things in words: top, case and drawers.
func list(things []string) string {
	if len(things) < 2 {
		return strings.Join(things, "")
	}
	return strings.Join(things[:len(things)-1], ", ") + " and " + things[len(things)-1]
}

// stages is a number of them: 1 stage, 2 stages.
func stages(n int) string {
	if n == 1 {
		return "1 stage"
	}
	return fmt.Sprintf("%d stages", n)
}

// because is a reason or a note behind what it is of; empty: there is none.
func because(reason string) string {
	if reason = strings.TrimSpace(reason); reason == "" {
		return ""
	}
	return ": " + reason
}

// sentence makes one: it begins with a capital and ends with a full stop.
func sentence(format string, args ...any) string {
	s := strings.TrimRight(fmt.Sprintf(format, args...), ". ")
	first, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[size:] + "."
}
