package faults_test

import (
	"bytes"
	"context"
	"fmt"
	"sync"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/fault"
	"tackfree/pkg/once"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// callers is how many ask at once.
const callers = 32

// While others work, 32 callers at a time give one and the same command, some of them for so short a
// time that they hear nothing. It is done once and answered alike, byte for byte; the same id over
// another command is refused.
func manyAtOnceUnderOneID(x *trial) {
	x.open(setting{})
	h := x.floor.hand("Nell", 100)
	person, ok := give(h, "person_added", &workflowv1.AddPersonRequest{RequestId: h.request(), DisplayName: "Nell"}, h.shop.People.AddPerson)
	if !ok {
		x.Fatal("Nell could not be added")
	}
	rounds := 0
	x.busy(func() {
		piece := together(x, h, "piece_taken_in", &intakev1.TakeInPieceRequest{RequestId: h.request(), Title: "Bench", Kind: "bench", Parts: []*intakev1.Part{{Label: "seat"}},
			Origin: &intakev1.TakeInPieceRequest_Purchase{Purchase: &intakev1.Purchase{Price: cents(4000), Source: "kerb"}}},
			func(r *intakev1.TakeInPieceRequest) { r.Title = "Table" }, h.shop.Intake.TakeInPiece)
		together(x, h, "stock_received", &materialsv1.ReceiveStockRequest{RequestId: h.request(), Product: h.product, Cost: cents(999),
			Amount: &materialsv1.ReceiveStockRequest_Quantity{Quantity: litres(1000)}},
			func(r *materialsv1.ReceiveStockRequest) { r.Cost = cents(998) }, h.shop.Materials.ReceiveStock)
		together(x, h, "clocked_on", &workflowv1.ClockOnRequest{RequestId: h.request(), Person: person.Person.Name, Indirect: "cleaning", StartTime: h.later(time.Minute)},
			func(r *workflowv1.ClockOnRequest) { r.Indirect = "training" }, h.shop.Clocks.ClockOn)
		together(x, h, "clocked_off", &workflowv1.ClockOffRequest{RequestId: h.request(), Person: person.Person.Name, EndTime: h.later(time.Minute)},
			func(r *workflowv1.ClockOffRequest) { r.EndTime = timestamppb.New(h.at.Add(time.Second)) }, h.shop.Clocks.ClockOff)
		if piece != nil {
			together(x, h, "piece_sold", &salesv1.SellPieceRequest{RequestId: h.request(), Piece: piece.Piece.Name, Price: cents(9000)},
				func(r *salesv1.SellPieceRequest) { r.Price = cents(9001) }, h.shop.Sales.SellPiece)
		}
		rounds++
	})
	x.Logf("%d rounds of 5 commands by %d callers", rounds, callers)
	x.caughtUp(5 * time.Second)
	x.checkBooks()
}

// command is a message that gives a command.
type command[T any] interface {
	*T
	once.Command
}

// together gives one command many times at once, and then another under its id.
func together[T any, Q command[T], R proto.Message](x *trial, h *hand, states string, r Q, change func(Q), call func(context.Context, Q, ...grpc.CallOption) (R, error)) (answer R) {
	x.Helper()
	x.floor.history.begin(r.GetRequestId(), states, 1)
	answers := make([][]byte, callers)
	var all sync.WaitGroup
	for i := range answers {
		all.Go(func() {
			if i%8 == 0 { // who does not hear it, and asks again
				short, cancel := context.WithTimeout(caller.With(x.Context(), caller.Caller{Actor: h.name}), time.Duration(i)*time.Millisecond/8)
				defer cancel()
				_, _ = call(short, r)
			}
			a, err := call(caller.With(x.Context(), caller.Caller{Actor: h.name}), r)
			if err != nil {
				x.found("once: caller %d of %s is told %v", i, states, err)
				return
			}
			answers[i], err = proto.MarshalOptions{Deterministic: true}.Marshal(a)
			if err != nil {
				x.Error(err)
			}
			if i == 0 {
				answer = a
			}
		})
	}
	all.Wait()
	x.floor.history.note(r.GetRequestId(), nil)
	for i := range answers {
		if answers[i] != nil && answers[0] != nil && !bytes.Equal(answers[i], answers[0]) {
			x.found("once: caller %d of %s is answered otherwise than the first", i, states)
			break
		}
	}
	other := proto.Clone(r).(Q)
	change(other)
	if _, err := call(caller.With(x.Context(), caller.Caller{Actor: h.name}), other); !fault.Is(err, "REQUEST_ID_REUSED") {
		x.found("once: another %s under the same id is answered %v", states, fmt.Sprint(err))
	}
	return answer
}
