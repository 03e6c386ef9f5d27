package wire_test

import (
	"errors"
	"math"
	"testing"
	"time"

	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	moneypkg "tackfree/pkg/money"
	"tackfree/pkg/wire"
	typev1 "tackfree/proto/tackfree/type/v1"
)

var now = time.Date(2026, 3, 2, 12, 0, 0, 123_456_789, time.UTC)

func shop(t testing.TB, currency string) wire.Shop {
	t.Helper()
	c, err := moneypkg.CurrencyOf(currency)
	if err != nil {
		t.Fatal(err)
	}
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	return wire.Shop{Currency: c, Zone: zone, Now: func() time.Time { return now }}
}

// wantFault checks for an invalid argument at a field; reason "" wants no error.
func wantFault(t *testing.T, err error, reason, field string) {
	t.Helper()
	f := fault.Of(err)
	switch {
	case reason == "" && err == nil:
	case f == nil || f.Reason != reason || len(f.Fields) != 1 || f.Fields[0].Path != field:
		t.Errorf("err = %v, want %q at %s", err, reason, field)
	}
}

// A refusal names what is wrong as people do, and to programs the field.
func TestShop_MoneySaysItInWords(t *testing.T) {
	_, err := shop(t, "USD").Money("sighting.asking_price", &money.Money{CurrencyCode: "USD", Units: -1})
	if got, want := fault.Of(err).Text, "The asking price must not be below zero."; got != want {
		t.Errorf("Money is refused with %q, want %q", got, want)
	}
	wantFault(t, err, "AMOUNT_NEGATIVE", "sighting.asking_price")
}

func TestShop_Money(t *testing.T) {
	const most = 10_000_000_000 // of USD, in which money.Max is that many units
	for name, c := range map[string]struct {
		currency string
		m        *money.Money
		want     moneypkg.Amount
		reason   string
	}{
		"Absent":         {"USD", nil, 0, ""},
		"Zero":           {"USD", &money.Money{CurrencyCode: "USD"}, 0, ""},
		"Cents":          {"USD", &money.Money{CurrencyCode: "USD", Units: 45, Nanos: 500_000_000}, 4550, ""},
		"OneCent":        {"USD", &money.Money{CurrencyCode: "USD", Nanos: 10_000_000}, 1, ""},
		"Yen":            {"JPY", &money.Money{CurrencyCode: "JPY", Units: 1200}, 1200, ""},
		"Dinar":          {"BHD", &money.Money{CurrencyCode: "BHD", Units: 1, Nanos: 5_000_000}, 1005, ""},
		"Most":           {"USD", &money.Money{CurrencyCode: "USD", Units: most}, moneypkg.Max, ""},
		"MoreThanMost":   {"USD", &money.Money{CurrencyCode: "USD", Units: most, Nanos: 10_000_000}, 0, "AMOUNT_MALFORMED"},
		"FarMore":        {"USD", &money.Money{CurrencyCode: "USD", Units: math.MaxInt64}, 0, "AMOUNT_MALFORMED"},
		"FarLess":        {"USD", &money.Money{CurrencyCode: "USD", Units: math.MinInt64}, 0, "AMOUNT_MALFORMED"},
		"HalfACent":      {"USD", &money.Money{CurrencyCode: "USD", Nanos: 5_000_000}, 0, "AMOUNT_MALFORMED"},
		"HalfAYen":       {"JPY", &money.Money{CurrencyCode: "JPY", Units: 1, Nanos: 500_000_000}, 0, "AMOUNT_MALFORMED"},
		"NanosOverflow":  {"USD", &money.Money{CurrencyCode: "USD", Nanos: 1_000_000_000}, 0, "AMOUNT_MALFORMED"},
		"MixedSigns":     {"USD", &money.Money{CurrencyCode: "USD", Units: 1, Nanos: -10_000_000}, 0, "AMOUNT_MALFORMED"},
		"Negative":       {"USD", &money.Money{CurrencyCode: "USD", Units: -1, Nanos: -500_000_000}, 0, "AMOUNT_NEGATIVE"},
		"NegativeCent":   {"USD", &money.Money{CurrencyCode: "USD", Nanos: -10_000_000}, 0, "AMOUNT_NEGATIVE"},
		"OtherCurrency":  {"USD", &money.Money{CurrencyCode: "EUR", Units: 1}, 0, "CURRENCY_NOT_THE_SHOPS"},
		"NoCurrency":     {"USD", &money.Money{Units: 1}, 0, "CURRENCY_NOT_THE_SHOPS"},
		"SmallLetters":   {"USD", &money.Money{CurrencyCode: "usd", Units: 1}, 0, "CURRENCY_NOT_THE_SHOPS"},
		"ZeroOfAnothers": {"USD", &money.Money{CurrencyCode: "EUR"}, 0, "CURRENCY_NOT_THE_SHOPS"},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := shop(t, c.currency).Money("price", c.m)
			if wantFault(t, err, c.reason, "price"); got != c.want && c.reason == "" {
				t.Errorf("Money = %d, want %d", got, c.want)
			}
		})
	}
}

// FuzzFromMoney: what is read is in bounds, and writing it gives back the very same
// message; what is refused has no such value.
func FuzzFromMoney(f *testing.F) {
	f.Add(int64(45), int32(500_000_000), 2)
	f.Add(int64(-1), int32(-10_000_000), 2)
	f.Add(int64(10_000_000_000), int32(10_000_000), 2)
	f.Add(int64(math.MinInt64), int32(math.MinInt32), 0)
	f.Add(int64(7), int32(1_000_000), 3)
	f.Fuzz(func(t *testing.T, units int64, nanos int32, digits int) {
		digits = ((digits % 5) + 5) % 5
		m := &money.Money{CurrencyCode: "USD", Units: units, Nanos: nanos}
		a, ok := wire.FromMoney(m, digits)
		if !ok {
			return
		}
		if a > moneypkg.Max || a < -moneypkg.Max {
			t.Fatalf("FromMoney(%v, %d) = %d, beyond money.Max", m, digits, a)
		}
		back := wire.Shop{Currency: moneypkg.Currency{Code: "USD", Digits: digits}}.ToMoney(a)
		if back.Units != units || back.Nanos != nanos {
			t.Fatalf("FromMoney(%v, %d) = %d, which is written as %v", m, digits, a, back)
		}
	})
}

func FuzzToMoney(f *testing.F) {
	f.Add(int64(4550), 2)
	f.Add(int64(-1), 3)
	f.Add(int64(moneypkg.Max), 0)
	f.Fuzz(func(t *testing.T, amount int64, digits int) {
		digits = ((digits % 5) + 5) % 5
		a := moneypkg.Amount(amount % int64(moneypkg.Max+1))
		m := wire.Shop{Currency: moneypkg.Currency{Code: "USD", Digits: digits}}.ToMoney(a)
		if back, ok := wire.FromMoney(m, digits); !ok || back != a {
			t.Fatalf("ToMoney(%d) = %v, which is read as %d, %v", a, m, back, ok)
		}
	})
}

func TestShop_Instant(t *testing.T) {
	at := func(t time.Time) *timestamppb.Timestamp { return timestamppb.New(t) }
	for name, c := range map[string]struct {
		ts     *timestamppb.Timestamp
		want   time.Time
		reason string
	}{
		"Absent":        {nil, now.Truncate(time.Millisecond), ""},
		"WholeMillis":   {at(now.Add(-time.Hour)), now.Add(-time.Hour).Truncate(time.Millisecond), ""},
		"ClockAhead":    {at(now.Add(2 * time.Minute)), now.Add(2 * time.Minute).Truncate(time.Millisecond), ""},
		"Future":        {at(now.Add(2*time.Minute + time.Second)), time.Time{}, "TIME_IN_FUTURE"},
		"FarFuture":     {&timestamppb.Timestamp{Seconds: 253402300799}, time.Time{}, "TIME_IN_FUTURE"},
		"Oldest":        {at(wire.Oldest), wire.Oldest, ""},
		"TooOld":        {at(wire.Oldest.Add(-time.Second)), time.Time{}, "TIME_TOO_OLD"},
		"Epoch":         {&timestamppb.Timestamp{}, time.Time{}, "TIME_TOO_OLD"},
		"BeyondTime":    {&timestamppb.Timestamp{Seconds: math.MaxInt64}, time.Time{}, "TIME_MALFORMED"},
		"NegativeNanos": {&timestamppb.Timestamp{Seconds: now.Unix(), Nanos: -1}, time.Time{}, "TIME_MALFORMED"},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := shop(t, "USD").Instant("time", c.ts)
			wantFault(t, err, c.reason, "time")
			if c.reason == "" && (!got.Equal(c.want) || got.Location() != time.UTC) {
				t.Errorf("Instant = %s, want %s in UTC", got, c.want)
			}
		})
	}
}

func FuzzInstant(f *testing.F) {
	f.Add(int64(1772452800), int32(123_456_789))
	f.Add(int64(math.MinInt64), int32(-1))
	f.Add(int64(946684799), int32(999_999_999))
	s := shop(f, "USD")
	f.Fuzz(func(t *testing.T, seconds int64, nanos int32) {
		got, err := s.Instant("time", &timestamppb.Timestamp{Seconds: seconds, Nanos: nanos})
		if err != nil {
			if !errors.Is(err, fault.Invalid) {
				t.Fatalf("Instant = %v, want an invalid argument", err)
			}
			return
		}
		if got.Before(wire.Oldest) || got.After(now.Add(2*time.Minute)) || got.Nanosecond()%1_000_000 != 0 {
			t.Fatalf("Instant(%d, %d) = %s", seconds, nanos, got)
		}
	})
}

func TestToInstant(t *testing.T) {
	if wire.ToInstant(time.Time{}) != nil {
		t.Error("the zero time is not absent")
	}
	if got := wire.ToInstant(now).AsTime(); !got.Equal(now) {
		t.Errorf("ToInstant = %s, want %s", got, now)
	}
}

func TestDay(t *testing.T) {
	day := func(y, m, d int) time.Time { return time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC) }
	for name, c := range map[string]struct {
		d      *date.Date
		want   time.Time
		reason string
	}{
		"Absent":       {nil, time.Time{}, ""},
		"Usual":        {&date.Date{Year: 2026, Month: 3, Day: 2}, day(2026, 3, 2), ""},
		"LeapDay":      {&date.Date{Year: 2024, Month: 2, Day: 29}, day(2024, 2, 29), ""},
		"NoLeapDay":    {&date.Date{Year: 2026, Month: 2, Day: 29}, time.Time{}, "DATE_MALFORMED"},
		"NoLeapAt1900": {&date.Date{Year: 1900, Month: 2, Day: 29}, time.Time{}, "DATE_MALFORMED"},
		"First":        {&date.Date{Year: 1900, Month: 1, Day: 1}, day(1900, 1, 1), ""},
		"Last":         {&date.Date{Year: 9999, Month: 12, Day: 31}, day(9999, 12, 31), ""},
		"TooEarly":     {&date.Date{Year: 1899, Month: 12, Day: 31}, time.Time{}, "DATE_MALFORMED"},
		"TooLate":      {&date.Date{Year: 10000, Month: 1, Day: 1}, time.Time{}, "DATE_MALFORMED"},
		"Empty":        {&date.Date{}, time.Time{}, "DATE_MALFORMED"},
		"MonthOnly":    {&date.Date{Year: 2026, Month: 3}, time.Time{}, "DATE_MALFORMED"},
		"Month13":      {&date.Date{Year: 2026, Month: 13, Day: 1}, time.Time{}, "DATE_MALFORMED"},
		"Negative":     {&date.Date{Year: 2026, Month: -3, Day: 2}, time.Time{}, "DATE_MALFORMED"},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := wire.Day("date", c.d)
			if wantFault(t, err, c.reason, "date"); c.reason == "" && !got.Equal(c.want) {
				t.Errorf("Day = %s, want %s", got, c.want)
			}
		})
	}
}

func FuzzDay(f *testing.F) {
	f.Add(int32(2026), int32(3), int32(2))
	f.Add(int32(2026), int32(2), int32(30))
	f.Add(int32(math.MaxInt32), int32(math.MinInt32), int32(0))
	f.Fuzz(func(t *testing.T, year, month, day int32) {
		d := &date.Date{Year: year, Month: month, Day: day}
		got, err := wire.Day("date", d)
		if err != nil {
			return
		}
		if back := wire.ToDay(got); back.Year != year || back.Month != month || back.Day != day {
			t.Fatalf("Day(%v) = %s, which is written as %v", d, got, back)
		}
	})
}

func TestAmount(t *testing.T) {
	for name, c := range map[string]struct {
		q      *typev1.Quantity
		want   string
		reason string
	}{
		"Usual":    {&typev1.Quantity{Value: "0.75", Unit: "L"}, "0.75 L", ""},
		"Absent":   {nil, "", "QUANTITY_MISSING"},
		"Zero":     {&typev1.Quantity{Value: "0.000", Unit: "L"}, "", "QUANTITY_NOT_POSITIVE"},
		"Negative": {&typev1.Quantity{Value: "-1", Unit: "L"}, "", "QUANTITY_NOT_POSITIVE"},
		"NoNumber": {&typev1.Quantity{Value: "1e3", Unit: "L"}, "", "QUANTITY_MALFORMED"},
		"NoValue":  {&typev1.Quantity{Unit: "L"}, "", "QUANTITY_MALFORMED"},
		"NoUnit":   {&typev1.Quantity{Value: "1"}, "", "UNIT_UNKNOWN"},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := wire.Amount("quantity", c.q)
			if wantFault(t, err, c.reason, "quantity"); c.reason == "" && got.String() != c.want {
				t.Errorf("Amount = %s, want %s", got, c.want)
			}
			if back := wire.ToQuantity(got.Value, got.Unit.Symbol); c.reason == "" && (back.Value != c.q.Value || back.Unit != c.q.Unit) {
				t.Errorf("ToQuantity = %v, want %v", back, c.q)
			}
		})
	}
}

func TestCheckEtag(t *testing.T) {
	if err := wire.CheckEtag(wire.Etag(7), 7); err != nil {
		t.Errorf("its own etag: %v", err)
	}
	if err := wire.CheckEtag("", 7); err != nil {
		t.Errorf("no etag asks for no check: %v", err)
	}
	for _, etag := range []string{wire.Etag(6), "7", `"7`, `W/"7"`, "*"} {
		if err := wire.CheckEtag(etag, 7); !fault.Is(err, "ETAG_MISMATCH") || !errors.Is(err, fault.Conflict) {
			t.Errorf("CheckEtag(%s, 7) = %v, want ETAG_MISMATCH", etag, err)
		}
	}
}
