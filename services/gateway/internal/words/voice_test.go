package words

import (
	"testing"
	"time"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/money"
	typev1 "tackfree/proto/tackfree/type/v1"
)

func voice(t *testing.T, language string, units Units, half bool) *Voice {
	t.Helper()
	zone, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	return &Voice{Language: language, Units: units, Half: half, Zone: zone, Currency: money.Currency{Code: "USD", Digits: 2}}
}

func TestVoice_Money(t *testing.T) {
	en, es := voice(t, "en", Metric, false), voice(t, "es", Metric, false)
	for _, tt := range []struct {
		m      *moneyv1.Money
		en, es string
	}{
		{nil, "–", "–"},
		{&moneyv1.Money{CurrencyCode: "USD", Units: 1234567, Nanos: 890000000}, "1,234,567.89", "1.234.567,89"},
		{&moneyv1.Money{CurrencyCode: "USD", Units: -999, Nanos: -500000000}, "−999.50", "−999,50"},
		{&moneyv1.Money{CurrencyCode: "USD"}, "0.00", "0,00"},
	} {
		if got := en.Money(tt.m); got != tt.en {
			t.Errorf("Money(%v) = %q, want %q", tt.m, got, tt.en)
		}
		if got := es.Money(tt.m); got != tt.es {
			t.Errorf("in Spanish Money(%v) = %q, want %q", tt.m, got, tt.es)
		}
	}
}

func TestVoice_Quantity(t *testing.T) {
	metric, imperial := voice(t, "en", Metric, false), voice(t, "en", Imperial, false)
	for _, tt := range []struct{ value, unit, metric, imperial string }{
		{"1", "gal", "3.79 L", "1 gal"},
		{"0.25", "L", "250 mL", "8.45 fl oz"},
		{"0.946352946", "L", "946 mL", "1 qt"},
		{"2", "lb", "907 g", "2 lb"},
		{"12", "sheet", "12 sheets", "12 sheets"},
		{"-0.5", "L", "-500 mL", "-16.9 fl oz"},
	} {
		q := &typev1.Quantity{Value: tt.value, Unit: tt.unit}
		if got := metric.Quantity(q); got != tt.metric {
			t.Errorf("%s %s in metric = %q, want %q", tt.value, tt.unit, got, tt.metric)
		}
		if got := imperial.Quantity(q); got != tt.imperial {
			t.Errorf("%s %s in imperial = %q, want %q", tt.value, tt.unit, got, tt.imperial)
		}
	}
	if got := metric.Celsius(21.26); got != "21.3 °C" {
		t.Errorf("Celsius = %q", got)
	}
	if got := imperial.Celsius(21.26); got != "70 °F" {
		t.Errorf("in °F = %q", got)
	}
}

func TestVoice_Times(t *testing.T) {
	now := time.Date(2026, 3, 4, 18, 0, 0, 0, time.UTC) // noon in Chicago, a Wednesday
	day, half := voice(t, "en", Metric, false), voice(t, "en", Imperial, true)
	for _, tt := range []struct {
		after      time.Duration
		want, half string
	}{
		{90 * time.Minute, "13:30", "1:30 pm"},
		{-11 * time.Hour, "01:00", "1:00 am"},
		{24 * time.Hour, "Thu 12:00", "Thu 12:00 pm"},
		{-24 * time.Hour, "3 Mar 2026 12:00", "Mar 3, 2026 12:00 pm"},
		{10 * 24 * time.Hour, "14 Mar 2026 13:00", "Mar 14, 2026 1:00 pm"}, // the clocks went forward
	} {
		at := timestamppb.New(now.Add(tt.after))
		if got := day.When(at, now); got != tt.want {
			t.Errorf("When(%v later) = %q, want %q", tt.after, got, tt.want)
		}
		if got := half.When(at, now); got != tt.half {
			t.Errorf("with half days When(%v later) = %q, want %q", tt.after, got, tt.half)
		}
	}
	if got := voice(t, "es", Metric, false).Day(timestamppb.New(now)); got != "4 mar 2026" {
		t.Errorf("Day in Spanish = %q", got)
	}
	for d, want := range map[time.Duration]string{0: "0:00", 125 * time.Minute: "2:05", -61*time.Minute - 30*time.Second: "−1:01"} {
		if got := day.Hours(durationpb.New(d)); got != want {
			t.Errorf("Hours(%v) = %q, want %q", d, got, want)
		}
	}
}
