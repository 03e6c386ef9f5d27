package stock

import (
	"strconv"
	"strings"

	"tackfree/services/gateway/internal/words"
)

// state is what somebody should see of a can at a glance: a word, with the class that colours it.
type state struct{ Class, Text string }

// States are what presses of it; none: nothing does.
func (c can) States(v *words.Voice) (out []state) {
	if c.Halt != nil {
		out = append(out, state{"late", v.T("can.halts")})
	}
	if a := c.Advice; a != nil && a.OrderNow {
		out = append(out, state{"ready", v.T("can.order.now")})
	}
	if a := c.Advice; a != nil && a.Mixing != nil {
		out = append(out, state{"ready", v.T("can.mix.now")})
	}
	if c.Low {
		out = append(out, state{"wait", v.T("can.low")})
	}
	return out
}

// Amounts says what is there, what of it is promised to planned stages, and what is free.
func (c can) Amounts(v *words.Voice) string {
	if c.Advice == nil {
		return v.T("can.hand", v.Quantity(c.OnHand))
	}
	said := []string{v.T("can.hand", v.Quantity(c.OnHand))}
	if none(c.Reserved) {
		said = append(said, v.T("can.reserved.none"))
	} else {
		said = append(said, v.T("can.reserved", v.Quantity(c.Reserved)))
	}
	if c.Short {
		said = append(said, v.T("can.short", v.Quantity(less(c.Reserved, c.OnHand))))
	} else {
		said = append(said, v.T("can.free", v.Quantity(c.Free)))
	}
	if !none(c.OnOrder) {
		said = append(said, v.T("can.ordered", v.Quantity(c.OnOrder)))
	}
	return strings.Join(said, " · ")
}

// Cover says how long it lasts.
func (c can) Cover(v *words.Voice) string {
	if !exact(c.OnHand).IsPositive() {
		return v.T("can.cover.none")
	}
	if c.Year {
		return v.T("can.cover.year")
	}
	return v.N("can.cover", int(c.Advice.DaysOfCover))
}

// Reckoned says on what that is reckoned.
func (c can) Reckoned(v *words.Voice) string {
	said := v.T("can.reckoned", v.Quantity(c.Reserved), v.Quantity(c.Advice.UseADay))
	switch {
	case none(c.Reserved) && none(c.Advice.UseADay):
		said = v.T("can.reckoned.idle")
	case none(c.Reserved):
		said = v.T("can.reckoned.free", v.Quantity(c.Advice.UseADay))
	}
	if c.Advice.Mixing == nil {
		said += " " + v.N("can.lead", c.LeadDays, strconv.Itoa(c.LeadGive))
	}
	return said
}

// Todo says what to do by when; empty: nothing.
func (c can) Todo(v *words.Voice) string {
	if c.By.IsZero() {
		return ""
	}
	day := v.DayOf(c.By)
	switch a := c.Advice; {
	case a.Mixing != nil:
		return v.T("can.todo.mix", v.Quantity(a.Mixing.Quantity), a.Mixing.RecipeName, day)
	case a.Purchase != nil:
		return v.N("can.todo.buy", int(a.Purchase.Packages), a.Purchase.PackageLabel, a.Purchase.SupplierName, day)
	}
	return v.T("can.todo.nobody", day)
}
