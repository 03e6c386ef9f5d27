package access_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	"tackfree/pkg/access"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// full says something in every field of a message, money above all: one of each in lists, and of a oneof the last.
func full(m protoreflect.Message, above ...protoreflect.FullName) protoreflect.Message {
	fields := m.Descriptor().Fields()
	for i := range fields.Len() {
		f := fields.Get(i)
		switch {
		case f.Message() != nil && slices.Contains(above, f.Message().FullName()), f.IsMap():
		case f.IsList() && f.Message() != nil:
			full(m.Mutable(f).List().AppendMutable().Message(), append(above, m.Descriptor().FullName())...)
		case f.IsList():
		case f.Message() != nil:
			full(m.Mutable(f).Message(), append(above, m.Descriptor().FullName())...)
		case f.Kind() == protoreflect.StringKind:
			m.Set(f, protoreflect.ValueOfString("word"))
		}
	}
	return m
}

// amounts are the fields of money that a message holds, as message.field.
func amounts(m protoreflect.Message, into map[string]bool) map[string]bool {
	m.Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		switch {
		case f.Message() == nil || f.IsMap():
		case f.Message().FullName() == "google.type.Money":
			into[strings.TrimPrefix(string(f.FullName()), "tackfree.")] = true
		case f.IsList():
			for i := range v.List().Len() {
				amounts(v.List().Get(i).Message(), into)
			}
		default:
			amounts(v.Message(), into)
		}
		return true
	})
	return into
}

// told are the amounts that the answer of a method tells a role, if all there can be is in it.
func told(t *testing.T, answer protoreflect.FullName, role typev1.Role) []string {
	t.Helper()
	kind, err := protoregistry.GlobalTypes.FindMessageByName(answer)
	if err != nil {
		t.Fatal(err)
	}
	short := access.Told(role, full(kind.New()).Interface()).(proto.Message)
	return slices.Sorted(maps.Keys(amounts(short.ProtoReflect(), map[string]bool{})))
}

// What each role is told of the money in the answers to calls that somebody below an owner may give. A helper is told
// none; a lead what material, others' work and a sale cost and what a client is quoted, and never what a piece was
// bought for.
func TestTold_ByRole(t *testing.T) {
	const helper, lead, owner = typev1.Role_ROLE_HELPER, typev1.Role_ROLE_LEAD, typev1.Role_ROLE_OWNER
	leads := map[string]bool{}
	protoregistry.GlobalFiles.RangeFiles(func(f protoreflect.FileDescriptor) bool {
		for i := range f.Services().Len() {
			methods := f.Services().Get(i).Methods()
			for j := range methods.Len() {
				m := methods.Get(j)
				rule, stated := access.Rules()["/"+string(methods.Get(j).Parent().FullName())+"/"+string(m.Name())]
				if !stated || rule.Least >= owner {
					continue
				}
				all := told(t, m.Output().FullName(), owner)
				if got := told(t, m.Output().FullName(), helper); len(got) > 0 {
					t.Errorf("%s tells helpers %v", m.FullName(), got)
				}
				for _, amount := range told(t, m.Output().FullName(), lead) {
					leads[amount] = true
				}
				if len(all) > 0 && rule.Least == lead && m.Parent().Name() != "LotService" && m.Parent().Name() != "IntakeService" && len(told(t, m.Output().FullName(), lead)) == 0 {
					t.Errorf("%s is for leads, and tells them none of %v: say to whom each is told", m.FullName(), all)
				}
			}
		}
		return true
	})
	for amount := range leads {
		service, _, _ := strings.Cut(amount, ".")
		if service == "intake" && !quoted(amount) || service == "costing" || strings.HasPrefix(amount, "events.v1.PieceTakenIn") || strings.HasPrefix(amount, "events.v1.Prospect") {
			t.Errorf("leads are told %s", amount)
		}
	}
	for _, want := range []string{"materials.v1.Lot.cost", "materials.v1.Order.total", "materials.v1.PriceBreak.price", "materials.v1.Issue.cost",
		"sales.v1.Sale.price", "intake.v1.EstimateTotals.total", "sales.v1.Listing.asking_price", "workflow.v1.OutsideWork.billed", "workflow.v1.BoardLine.value"} {
		if !leads[want] {
			t.Errorf("leads are not told %s: told %v", want, slices.Sorted(maps.Keys(leads)))
		}
	}
}

// quoted tells whether an amount is one that a client was quoted or is billed, which leads write.
func quoted(amount string) bool {
	return slices.ContainsFunc([]string{"Estimate", "EstimateLine", "EstimateTotals", "EstimateDraft", "Settlement", "CommissionTerms", "CommissionOrder"},
		func(of string) bool { return strings.HasPrefix(amount, "intake.v1."+of+".") })
}

func TestTold_LeavesOwnersAllAndOthersACopy(t *testing.T) {
	price := &moneyv1.Money{CurrencyCode: "USD", Units: 40}
	dresser := func() *intakev1.ListPiecesResponse {
		return &intakev1.ListPiecesResponse{Pieces: []*intakev1.Piece{
			{Tag: 1, Origin: &intakev1.Piece_Purchase{Purchase: &intakev1.Purchase{Price: price, Source: "a barn sale"}}},
			{Tag: 2, Origin: &intakev1.Piece_Commission{Commission: &intakev1.Commission{Client: "Ana"}}}}}
	}
	said := dresser()
	if got := access.Told(typev1.Role_ROLE_OWNER, said); got != any(said) {
		t.Errorf("an owner is told %v, and not the answer itself", got)
	}
	for _, role := range []typev1.Role{typev1.Role_ROLE_LEAD, typev1.Role_ROLE_HELPER, typev1.Role_ROLE_UNSPECIFIED} {
		want := dresser()
		want.Pieces[0].GetPurchase().Price = nil // absent, and not 0.00: it was not free
		if got := access.Told(role, said).(*intakev1.ListPiecesResponse); !proto.Equal(got, want) {
			t.Errorf("Told(%v) = %v, want %v", role, got, want)
		}
		if !proto.Equal(said, dresser()) {
			t.Fatalf("Told(%v) changed the answer itself, which others are told: %v", role, said)
		}
	}
	free := &workflowv1.ListPeopleResponse{People: []*workflowv1.Person{{DisplayName: "Nell"}}}
	if got := access.Told(typev1.Role_ROLE_HELPER, free); got != any(free) {
		t.Error("an answer without anything that is kept from anybody was copied")
	}
	for _, none := range []any{nil, (*intakev1.ListPiecesResponse)(nil), "text"} {
		if got := access.Told(typev1.Role_ROLE_HELPER, none); got != none {
			t.Errorf("Told(%v) = %v", none, got)
		}
	}
}

// An event says what its kind says, whoever reads it: whoever is told less is told it of each kind.
func TestTold_OfEvents(t *testing.T) {
	fields := (&eventsv1.Envelope{}).ProtoReflect().Descriptor().Oneofs().ByName("payload").Fields()
	if fields.Len() < 80 {
		t.Fatalf("only %d kinds of events were seen", fields.Len())
	}
	for i := range fields.Len() {
		e := &eventsv1.Envelope{}
		full(e.ProtoReflect().Mutable(fields.Get(i)).Message())
		page := &eventsv1.ListPieceEventsResponse{Events: []*eventsv1.Envelope{e}}
		short := access.Told(typev1.Role_ROLE_HELPER, page).(*eventsv1.ListPieceEventsResponse)
		if got := amounts(short.ProtoReflect(), map[string]bool{}); len(got) > 0 {
			t.Errorf("a helper is told %v", got)
		}
		if f := fields.Get(i); short.Events[0].ProtoReflect().WhichOneof(f.ContainingOneof()) != f {
			t.Errorf("of %s nothing is left", f.Name())
		}
		if sold := short.Events[0].GetPieceSold(); sold.GetBuyer() != "" {
			t.Errorf("a helper is told the buyer: %v", sold)
		}
	}
}

// What people wrote beside money often says how much it was, so it is told to whom the money is.
func TestTold_KeepsWhatWasWrittenBesideMoney(t *testing.T) {
	for _, c := range []struct {
		of    proto.Message
		field protoreflect.Name
	}{{&salesv1.Payment{}, "note"}, {&salesv1.Payment{}, "void_reason"}, {&eventsv1.PaymentVoided{}, "reason"}, {&eventsv1.DepositSettled{}, "reason"},
		{&eventsv1.HoldEnded{}, "reason"}, {&eventsv1.OfferEnded{}, "reason"}, {&eventsv1.OfferMade{}, "note"}} {
		m := full(c.of.ProtoReflect())
		f := m.Descriptor().Fields().ByName(c.field)
		for role, told := range map[typev1.Role]bool{typev1.Role_ROLE_HELPER: false, typev1.Role_ROLE_LEAD: true, typev1.Role_ROLE_OWNER: true} {
			short := access.Told(role, m.Interface()).(proto.Message).ProtoReflect()
			if got := short.Get(f).String() == "word"; got != told {
				t.Errorf("%v is told %s: %t, want %t", role, f.FullName(), got, told)
			}
		}
	}
}
