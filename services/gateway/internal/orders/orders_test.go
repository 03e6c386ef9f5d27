package orders_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"

	intakev1 "tackfree/proto/tackfree/intake/v1"
	"tackfree/services/gateway/internal/orders"
)

var today = time.Date(2026, 3, 18, 23, 30, 0, 0, time.FixedZone("", -7*3600))

func march(day int32) *date.Date { return &date.Date{Year: 2026, Month: 3, Day: day} }

func estimated(number, day int32) *intakev1.CommissionOrder {
	return &intakev1.CommissionOrder{Number: number, State: intakev1.CommissionOrder_STATE_ESTIMATED, Estimates: []*intakev1.Estimate{{Draft: &intakev1.EstimateDraft{ValidUntil: march(day)}}}}
}

func approved(number int32, piece string, promised *date.Date, changes ...intakev1.ChangeOrder_State) *intakev1.CommissionOrder {
	c := &intakev1.CommissionOrder{Number: number, State: intakev1.CommissionOrder_STATE_APPROVED, Piece: piece, Promised: promised}
	for i, s := range changes {
		c.ChangeOrders = append(c.ChangeOrders, &intakev1.ChangeOrder{Number: int32(i) + 1, State: s})
	}
	return c
}

// What is over comes first, then what is near, and what waits without haste last; a day counts to its end in the shop.
func TestNeeds(t *testing.T) {
	open, no := intakev1.ChangeOrder_STATE_OPEN, intakev1.ChangeOrder_STATE_DECLINED
	var got []string
	for _, n := range orders.Needs([]*intakev1.CommissionOrder{
		estimated(1, 30), estimated(2, 21), estimated(3, 17), estimated(4, 18), estimated(5, 22),
		approved(6, "pieces/a", march(21)), approved(7, "", nil), approved(8, "pieces/b", march(17), no, open), approved(9, "pieces/c", march(22)),
		{Number: 10, State: intakev1.CommissionOrder_STATE_DECLINED},
	}, today) {
		got = append(got, fmt.Sprintf("%d %s %d %t %d", n.Order.Number, n.Key, n.Day.GetDay(), n.Late, n.Change))
	}
	want := "3 expired 17 true 0, 8 over 17 true 0, 4 expires 18 false 0, 2 expires 21 false 0, 6 promised 21 false 0, 8 change 0 false 2, 7 bring 0 false 0, 5 waits 22 false 0, 1 waits 30 false 0"
	if strings.Join(got, ", ") != want {
		t.Errorf("Needs = %s\nwant    %s", strings.Join(got, ", "), want)
	}
}
