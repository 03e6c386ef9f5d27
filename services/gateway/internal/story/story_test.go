package story_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/access"
	"tackfree/pkg/money"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/story"
	"tackfree/services/gateway/internal/words"
)

func voice(language string) *words.Voice {
	return &words.Voice{Language: language, Units: words.Metric, Zone: time.UTC, Currency: money.Currency{Code: "USD", Digits: 2}}
}

func teller(language string) story.Teller {
	return story.New(voice(language), &intakev1.Piece{Parts: []*intakev1.Part{{Name: "pieces/1/parts/p1", Label: "top"}}},
		[]*workflowv1.Stage{{Name: "pieces/1/stages/s1", Key: "sand-220", Kind: "sand", PartLabel: "top"}, {Name: "pieces/1/stages/s2", Key: "finish", Kind: "topcoat_coat", PartLabel: "top"}}).At([]*workflowv1.Station{{Name: "stations/rack-long", DisplayName: "Long rack"}})
}

// elsewhere are the kinds of events that are never about one piece: of people, products, batches, prospects, clients, the shop.
var elsewhere = named("lot_bought lot_split_revised prospect_added prospect_bought prospect_declined buying_terms_set client_saved client_retired commission_terms_set letterhead_set",
	"person_added person_changed route_saved station_saved batch_formed batch_ended stage_left_batch day_planned",
	"product_added stock_received stock_low restock_threshold_set coating_sheet_set stock_counted lot_cost_corrected lot_opened lot_moved lot_closed",
	"stock_recosted stock_policy_set mix_undone place_saved oily_waste_confirmed oily_waste_check_withdrawn equipment_saved equipment_serviced recipe_saved mix_made",
	"product_described supplier_saved offer_set offer_removed stock_alert_raised stock_alert_closed order_placed order_changed selling_terms_set channel_set channel_retired tax_place_set tax_place_retired cash_step_set")

func march(day int32) *date.Date { return &date.Date{Year: 2026, Month: 3, Day: day} }

func named(lines ...string) map[string]bool {
	all := map[string]bool{}
	for _, name := range strings.Fields(strings.Join(lines, " ")) {
		all[name] = true
	}
	return all
}

func payloads() protoreflect.FieldDescriptors {
	return (&eventsv1.Envelope{}).ProtoReflect().Descriptor().Oneofs().ByName("payload").Fields()
}

// of is an event of a kind; filled, it says something in every field.
func of(f protoreflect.FieldDescriptor, filled bool) *eventsv1.Envelope {
	e := &eventsv1.Envelope{}
	m := e.ProtoReflect().Mutable(f).Message()
	if filled {
		fill(m)
	}
	return e
}

func fill(m protoreflect.Message) {
	for i := range m.Descriptor().Fields().Len() {
		f := m.Descriptor().Fields().Get(i)
		switch {
		case f.Message() != nil && f.Message().FullName() == "google.type.Money":
			m.Set(f, protoreflect.ValueOfMessage((&moneyv1.Money{CurrencyCode: "USD", Units: 77}).ProtoReflect()))
		case f.Message() != nil && f.Message().FullName() == "tackfree.type.v1.Quantity":
			m.Set(f, protoreflect.ValueOfMessage((&typev1.Quantity{Value: "2", Unit: "L"}).ProtoReflect()))
		case f.IsList() && f.Message() != nil:
			fill(m.Mutable(f).List().AppendMutable().Message())
		case f.IsList() && f.Kind() == protoreflect.StringKind:
			m.Mutable(f).List().Append(protoreflect.ValueOfString("word"))
		case f.IsList():
		case f.Message() != nil:
			fill(m.Mutable(f).Message())
		case f.Kind() == protoreflect.StringKind:
			m.Set(f, protoreflect.ValueOfString("word"))
		case f.Kind() == protoreflect.Int32Kind && f.Name() != "month" && f.Name() != "day":
			m.Set(f, protoreflect.ValueOfInt32(2))
		}
	}
}

// Every kind of event is either one of a piece, and then has a sentence of its own in each language, or known never to
// be one; what was once written of a piece is of the former.
func TestTeller_HasASentenceForEachEventOfAPiece(t *testing.T) {
	name := func(f protoreflect.FieldDescriptor) string { return string(f.Name()) }
	for i := range payloads().Len() {
		f := payloads().Get(i)
		fallback := strings.ReplaceAll(name(f), "_", " ")
		for _, filled := range []bool{false, true} {
			english, spanish := teller("en").Tell(of(f, filled)), teller("es").Tell(of(f, filled))
			if known := !strings.EqualFold(strings.TrimSuffix(english, "."), fallback); known == elsewhere[name(f)] {
				t.Errorf("%s is told as %q: want a sentence of its own, or its name in the list of those that are never about a piece", name(f), english)
			}
			if elsewhere[name(f)] {
				continue
			}
			if spanish == english {
				t.Errorf("%s is told in Spanish as in English: %q", name(f), english)
			}
			for _, s := range []string{english, spanish} {
				if strings.ContainsAny(s, "[%!") || !strings.HasSuffix(s, ".") || len(s) < 8 || filled && s[0] >= 'a' && s[0] <= 'z' {
					t.Errorf("%s is told as %q", name(f), s)
				}
			}
		}
	}
	files, err := filepath.Glob("../../../../testdata/events/*.pb")
	if err != nil || len(files) < 80 {
		t.Fatalf("%d events are kept, %v", len(files), err)
	}
	for _, file := range files {
		b, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		e := &eventsv1.Envelope{}
		if err := proto.Unmarshal(b, e); err != nil {
			t.Fatal(err)
		}
		f := e.ProtoReflect().WhichOneof(payloads().Get(0).ContainingOneof())
		if e.PieceId != "" && elsewhere[name(f)] {
			t.Errorf("%s is about a piece", file)
		}
	}
}

// Whoever is told no money reads the same sentence without it, and nothing is said to have cost nothing.
func TestTeller_WithoutMoney(t *testing.T) {
	figure, priced := regexp.MustCompile(`\b77\b`), 0
	for i := range payloads().Len() {
		full := of(payloads().Get(i), true)
		short := access.Told(typev1.Role_ROLE_HELPER, full).(*eventsv1.Envelope)
		for _, language := range words.Languages {
			if figure.MatchString(teller(language).Tell(full)) {
				priced++
			}
			if s := teller(language).Tell(short); figure.MatchString(s) || strings.Contains(s, "0.00") || strings.Contains(s, "–") && !strings.Contains(s, "1970") {
				t.Errorf("a helper reads %q", s)
			}
		}
	}
	if priced < 14 {
		t.Errorf("only %d sentences tell an owner an amount", priced)
	}
}

func TestTeller_Tell(t *testing.T) {
	at := func(hour int) *timestamppb.Timestamp {
		return timestamppb.New(time.Date(2026, 3, 2, hour, 0, 0, 0, time.UTC))
	}
	usd := func(units int64) *moneyv1.Money { return &moneyv1.Money{CurrencyCode: "USD", Units: units} }
	span := func(to int) *eventsv1.ClockSpan {
		return &eventsv1.ClockSpan{PersonName: "Nell", StageId: "s1", StageKey: "sand-220", StageKind: "sand", PartLabel: "top", Pass: 1, Start: at(8), End: at(to)}
	}
	for _, c := range []struct {
		payload proto.Message
		en, es  string
	}{
		{&eventsv1.PieceTakenIn{Origin: &eventsv1.PieceTakenIn_Purchase_{Purchase: &eventsv1.PieceTakenIn_Purchase{Price: usd(40), Source: "a barn sale"}}},
			"Bought from a barn sale and taken in, for 40.00.", "Comprada en a barn sale y recibida, por 40,00."},
		{&eventsv1.PieceTakenIn{Origin: &eventsv1.PieceTakenIn_Purchase_{Purchase: &eventsv1.PieceTakenIn_Purchase{Price: usd(40), Source: "a barn sale", BelievedLow: usd(320), BelievedHigh: usd(560), BelievedAt: timestamppb.New(time.Date(2026, 3, 3, 10, 0, 0, 0, time.UTC))}}},
			"Bought from a barn sale and taken in, for 40.00; when it was seen, on 3 Mar 2026, it was believed to bring 320.00 to 560.00.",
			"Comprada en a barn sale y recibida, por 40,00; al verla, el 3 mar 2026, se creía que traería de 320,00 a 560,00."},
		{&eventsv1.PieceTakenIn{Origin: &eventsv1.PieceTakenIn_Purchase_{Purchase: &eventsv1.PieceTakenIn_Purchase{Source: "a barn sale", BelievedAt: timestamppb.New(time.Date(2026, 3, 3, 10, 0, 0, 0, time.UTC))}}},
			"Bought from a barn sale and taken in.", "Comprada en a barn sale y recibida."}, // as a helper is told it
		{&eventsv1.PieceTakenIn{Origin: &eventsv1.PieceTakenIn_Commission_{Commission: &eventsv1.PieceTakenIn_Commission{Client: "Ana"}}},
			"Taken in from Ana, whose own it is.", "Recibida de Ana, que es su dueño."},
		{&eventsv1.PurchaseCorrected{OldPrice: usd(40), NewPrice: usd(45), Reason: "the bill came."},
			"It was bought for 45.00 and not for 40.00: the bill came.", "Se compró por 45,00 y no por 40,00: the bill came."},
		{&eventsv1.AskingPriceChanged{From: usd(300), To: usd(260), Reason: "second week"}, "Marked down from 300.00 to 260.00: second week.", "Rebajada de 300,00 a 260,00: second week."},
		{&eventsv1.AskingPriceChanged{From: usd(260), To: usd(300)}, "Asked for is 300.00 and no longer 260.00.", "Se piden 300,00 y ya no 260,00."},
		{&eventsv1.AskingPriceChanged{From: usd(300), To: usd(250), Reason: "markdown plan, step of 2026-03-09", PlannedFor: march(9)},
			"Marked down from 300.00 to 250.00: by its markdown plan, the step of 9 Mar 2026.", "Rebajada de 300,00 a 250,00: por su plan de rebajas, el paso del 9 mar 2026."},
		{&eventsv1.PieceListed{Channel: "fair", OtherChannels: []string{"web"}, AskingPrice: usd(300)}, "Listed for sale on fair, web, for 300.00.", "Puesta a la venta en fair, web, por 300,00."},
		{&eventsv1.ListingWithdrawn{Channels: []string{"fair"}, Reason: "a show"}, "Taken off sale: a show.", "Retirada de la venta: a show."},
		{&eventsv1.ListingChannelsChanged{Channels: []string{"fair", "web"}}, "Now offered on fair, web.", "Ahora se ofrece en fair, web."},
		{&eventsv1.MarkdownPlanSet{FromAdvice: true, Steps: []*eventsv1.MarkdownPlanSet_Step{{Date: march(9), AskingPrice: usd(250)}, {Date: march(16), AskingPrice: usd(210)}}},
			"A markdown plan was made of the price advice: 250.00 from 9 Mar 2026 on, 210.00 from 16 Mar 2026 on.", "Se hizo un plan de rebajas con el consejo de precio: 250,00 desde el 9 mar 2026, 210,00 desde el 16 mar 2026."},
		{&eventsv1.MarkdownPlanSet{Steps: []*eventsv1.MarkdownPlanSet_Step{{Date: march(9)}}}, "A markdown plan was made.", "Se hizo un plan de rebajas."}, // as a helper is told it
		{&eventsv1.MarkdownPlanDropped{}, "Its markdown plan was dropped.", "Se dejó su plan de rebajas."},
		{&eventsv1.MarkdownStepSkipped{PlannedFor: march(9), Why: eventsv1.MarkdownStepSkipped_WHY_NOT_LOWER}, "The markdown of 9 Mar 2026 was not taken, for no more was asked already.", "La rebaja del 9 mar 2026 no se hizo, pues ya no se pedía más."},
		{&eventsv1.MarkdownStepSkipped{PlannedFor: march(9), Why: eventsv1.MarkdownStepSkipped_WHY_PASSED_OVER}, "The markdown of 9 Mar 2026 was passed over, for a later one was due too.", "La rebaja del 9 mar 2026 se pasó por alto, pues otra posterior también tocaba."},
		{&eventsv1.PieceSold{Channel: "window", Buyer: "R. Okafor", Price: usd(250)}, "Sold on window, for 250.00, to R. Okafor.", "Vendida en window, por 250,00, a R. Okafor."},
		{&eventsv1.SaleRefunded{Price: usd(250), PieceReturned: true, Reason: "a drawer binds"}, "The buyer brought it back and was given back 250.00 of the price: a drawer binds.", "El comprador la trajo de vuelta y se le devolvieron 250,00 del precio: a drawer binds."},
		{&eventsv1.SaleRefunded{Price: usd(20), Reason: "late"}, "20.00 of the price was given back to the buyer: late.", "Se devolvieron 20,00 del precio al comprador: late."},
		{&eventsv1.PieceSold{Channel: "window", Price: usd(250), OnAccount: usd(250)}, "Sold on window, for 250.00, to be paid later.", "Vendida en window, por 250,00, a pagar más tarde."},
		{&eventsv1.PieceHeld{Buyer: "R. Okafor", UntilTime: at(12), Price: usd(250)}, "Held for R. Okafor until 2 Mar 2026 12:00, for 250.00.", "Reservada para R. Okafor hasta el 2 mar 2026 12:00, por 250,00."},
		{&eventsv1.PieceHeld{UntilTime: at(12), BeforeTime: at(11)}, "Held until 2 Mar 2026 12:00 and not until 2 Mar 2026 11:00.", "Reservada hasta el 2 mar 2026 12:00 y no hasta el 2 mar 2026 11:00."},
		{&eventsv1.HoldEnded{How: eventsv1.HoldEnded_HOW_LAPSED, ToReturn: usd(40)}, "Its hold was not taken up in time, and 40.00 is to be given back.", "Nadie vino a tiempo por su reserva, y hay que devolver 40,00."},
		{&eventsv1.HoldEnded{How: eventsv1.HoldEnded_HOW_RELEASED, Reason: "she moved"}, "Held no longer: she moved.", "Ya no está reservada: she moved."},
		{&eventsv1.DepositTaken{From: "Ana", Amount: usd(40)}, "A deposit of 40.00 was given, from Ana.", "Se dio una señal de 40,00, de Ana."},
		{&eventsv1.DepositTaken{}, "A deposit was given.", "Se dio una señal."}, // as a helper is told it
		{&eventsv1.DepositSettled{How: eventsv1.DepositSettled_HOW_KEPT, Amount: usd(40), Reason: "she moved"}, "40.00 of a deposit was kept: she moved.", "El taller se quedó con 40,00 de una señal: she moved."},
		{&eventsv1.DepositSettled{How: eventsv1.DepositSettled_HOW_RETURNED, Amount: usd(40)}, "40.00 of a deposit was given back.", "Se devolvieron 40,00 de una señal."},
		{&eventsv1.OfferMade{Buyer: "Ana", Price: usd(200), Note: "today"}, "Ana offers 200.00: today.", "Ana ofrece 200,00: today."},
		{&eventsv1.OfferMade{Buyer: "Ana", Price: usd(230), Counter: true}, "Ana was told that it could be had for 230.00.", "A Ana se le dijo que la pieza sería suya por 230,00."},
		{&eventsv1.OfferEnded{Buyer: "Ana", How: eventsv1.OfferEnded_HOW_PASSED_OVER}, "An offer was passed over, from Ana.", "Se dejó pasar una oferta, de Ana."},
		{&eventsv1.PieceSold{Channel: "window", Price: usd(250), Deposit: usd(40)}, "Sold on window, for 250.00, of which 40.00 was given before.", "Vendida en window, por 250,00, de los que 40,00 se dieron antes."},
		{&eventsv1.PaymentReceived{Amount: usd(40)}, "The buyer paid 40.00.", "El comprador pagó 40,00."},
		{&eventsv1.PaymentReceived{}, "The buyer paid.", "El comprador pagó."}, // as a helper is told it
		{&eventsv1.PaymentVoided{Amount: usd(40), Reason: "it bounced"}, "A payment of 40.00 was none: it bounced.", "Un pago de 40,00 no valió: it bounced."},
		{&eventsv1.PaymentVoided{Reason: "it bounced"}, "A payment was none: it bounced.", "Un pago no valió: it bounced."},
		{&eventsv1.SaleRefunded{Price: usd(20), LoweredDue: usd(15), Reason: "late"}, "20.00 of the price was given back to the buyer, of which 15.00 lowers what is still to be paid: late.",
			"Se devolvieron 20,00 del precio al comprador, de los que 15,00 rebajan lo que falta por pagar: late."},
		{&eventsv1.SaleRefunded{Tax: usd(2)}, "Money was given back to the buyer.", "Se devolvió dinero al comprador."},
		{&eventsv1.PieceMoved{Station: "rack-long"}, "The whole piece carried to Long rack.", "La pieza entera: llevado a Long rack."},
		{&eventsv1.PieceMoved{Station: "old-rack"}, "The whole piece carried to old rack.", "La pieza entera: llevado a old rack."},
		{&eventsv1.ClockedOn{Span: &eventsv1.ClockSpan{PersonName: "Nell", StageKind: "sand", Station: "rack-long"}}, "Nell began sand at Long rack.", "Nell empezó lijar en Long rack."},
		{&eventsv1.StageFinished{StageId: "s2", Kind: "topcoat_coat", Pass: 3}, "Finish (top) was finished (time 3).", "Mano de acabado (top): terminado (vez 3)."},
		{&eventsv1.StageFinished{StageId: "gone", Kind: "paint_coat", Pass: 1}, "Paint coat was finished.", "Mano de pintura: terminado."},
		{&eventsv1.ClockedOff{Span: span(10)}, "Nell stopped at sand-220 (top) after 2:00.", "Nell dejó lijar (top) tras 2:00."},
		{&eventsv1.ClockEntryCorrected{Before: span(10), After: span(9), Reason: "tea"}, "The work of Nell was at sand-220 (top), 2 Mar 2026 08:00 – 09:00, and not at sand-220 (top), 2 Mar 2026 08:00 – 10:00: tea.",
			"El trabajo de Nell fue en lijar (top), 2 mar 2026 08:00 – 09:00, y no en lijar (top), 2 mar 2026 08:00 – 10:00: tea."},
		{&eventsv1.PartTested{PartId: "p1", Kind: "lead", Result: "accepted with controls", PersonName: "Ana", Controls: "wet sanding"},
			"Top was tested for lead: accepted under controls; Ana answers for these controls: wet sanding.", "Top: prueba de plomo: aceptado con medidas; Ana responde de estas medidas: wet sanding."},
	} {
		e := &eventsv1.Envelope{}
		for i := range payloads().Len() {
			if f := payloads().Get(i); f.Message().FullName() == c.payload.ProtoReflect().Descriptor().FullName() {
				e.ProtoReflect().Set(f, protoreflect.ValueOfMessage(c.payload.ProtoReflect()))
			}
		}
		if en, es := teller("en").Tell(e), teller("es").Tell(e); en != c.en || es != c.es {
			t.Errorf("got  %q\nand  %q\nwant %q\nand  %q", en, es, c.en, c.es)
		}
	}
	own := story.New(voice("en"), &intakev1.Piece{Origin: &intakev1.Piece_Commission{Commission: &intakev1.Commission{Client: "Ana"}}}, nil)
	if got := own.Tell(&eventsv1.Envelope{Payload: &eventsv1.Envelope_PieceSold{PieceSold: &eventsv1.PieceSold{Price: usd(90)}}}); got != "Invoiced to its owner, for 90.00." {
		t.Errorf("a commission is told as %q", got)
	}
	if got := own.Tell(&eventsv1.Envelope{}); !strings.Contains(got, "does not know") {
		t.Errorf("an event of a later release is told as %q", got)
	}
}
