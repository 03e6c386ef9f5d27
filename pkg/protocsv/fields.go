package protocsv

import (
	"encoding/base64"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/shopspring/decimal"
	"google.golang.org/genproto/googleapis/type/date"
	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/genproto/googleapis/type/timeofday"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/durationpb"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/money"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// part is a column of a message that is one value, and is written in its own way.
type part struct {
	suffix string
	text   func(protoreflect.Value) string
}

// wellKnown are the messages that are one value.
var wellKnown = map[protoreflect.FullName][]part{
	name[*moneyv1.Money]():         {{"", as(amount)}, {".currency", as((*moneyv1.Money).GetCurrencyCode)}},
	name[*typev1.Quantity]():       {{"", as((*typev1.Quantity).GetValue)}, {".unit", as((*typev1.Quantity).GetUnit)}},
	name[*durationpb.Duration]():   {{".seconds", as(seconds)}},
	name[*timestamppb.Timestamp](): {{"", as(func(t *timestamppb.Timestamp) string { return t.AsTime().Format(time.RFC3339Nano) })}},
	name[*date.Date]():             {{"", as(day)}},
	name[*timeofday.TimeOfDay]():   {{"", as(clock)}},
}

func name[M proto.Message]() protoreflect.FullName {
	var m M
	return m.ProtoReflect().Descriptor().FullName()
}

// as writes a message of a type that Go was generated for.
func as[M proto.Message](text func(M) string) func(protoreflect.Value) string {
	return func(v protoreflect.Value) string { return text(v.Message().Interface().(M)) }
}

// amount has all digits of its currency; of a currency that is not known those that it has.
func amount(m *moneyv1.Money) string {
	exact := decimal.New(m.Units, 0).Add(decimal.New(int64(m.Nanos), -9))
	if c, err := money.CurrencyOf(m.CurrencyCode); err == nil && exact.Equal(exact.Truncate(int32(c.Digits))) {
		return exact.StringFixed(int32(c.Digits))
	}
	return exact.String()
}

func seconds(d *durationpb.Duration) string {
	return decimal.New(d.Seconds, 0).Add(decimal.New(int64(d.Nanos), -9)).String()
}

func day(d *date.Date) string { return fmt.Sprintf("%04d-%02d-%02d", d.Year, d.Month, d.Day) }

func clock(t *timeofday.TimeOfDay) string {
	if t.Seconds != 0 {
		return fmt.Sprintf("%02d:%02d:%02d", t.Hours, t.Minutes, t.Seconds)
	}
	return fmt.Sprintf("%02d:%02d", t.Hours, t.Minutes)
}

// scalar writes one value of a field.
func scalar(f protoreflect.FieldDescriptor) func(protoreflect.Value) string {
	switch f.Kind() {
	case protoreflect.EnumKind:
		return func(v protoreflect.Value) string { return Word(f.Enum(), v.Enum()) }
	case protoreflect.BytesKind:
		return func(v protoreflect.Value) string { return base64.StdEncoding.EncodeToString(v.Bytes()) }
	case protoreflect.DoubleKind, protoreflect.FloatKind:
		return func(v protoreflect.Value) string { return estimate(v.Float()) }
	}
	return protoreflect.Value.String
}

// estimate writes what is measured or forecast, which is never an amount: six places, or six digits of
// what is below a thousandth, and no power of ten.
func estimate(x float64) string {
	if a := math.Abs(x); a > 0 && a < 1e-3 {
		x, _ = strconv.ParseFloat(strconv.FormatFloat(x, 'g', 6, 64), 64)
	} else {
		x, _ = strconv.ParseFloat(strconv.FormatFloat(x, 'f', 6, 64), 64)
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// guarded writes one value of a field; text of somebody's is never a formula.
func guarded(f protoreflect.FieldDescriptor) func(protoreflect.Value) string {
	one := scalar(f)
	if f.Kind() != protoreflect.StringKind {
		return one
	}
	return func(v protoreflect.Value) string { return Free(one(v)) }
}

// Word is a value of a list of words: IN_WORK of STATE_IN_WORK, in small letters. That none
// is said is empty; one that is not known is its number.
func Word(of protoreflect.EnumDescriptor, n protoreflect.EnumNumber) string {
	v := of.Values().ByNumber(n)
	if v == nil {
		return fmt.Sprint(n)
	}
	if n == 0 && strings.HasSuffix(string(v.Name()), "_UNSPECIFIED") {
		return ""
	}
	prefix := ""
	if zero := of.Values().ByNumber(0); zero != nil {
		prefix = strings.TrimSuffix(string(zero.Name()), "UNSPECIFIED")
	}
	return strings.ToLower(strings.TrimPrefix(string(v.Name()), prefix))
}

// joined writes several values of a field.
func joined(f protoreflect.FieldDescriptor) func(protoreflect.Value) string {
	one := scalar(f)
	return func(v protoreflect.Value) string {
		all := make([]string, v.List().Len())
		for i := range all {
			all[i] = one(v.List().Get(i))
		}
		return Free(strings.Join(all, "; "))
	}
}

// many writes several messages as JSON; none is empty.
func many(v protoreflect.Value) string {
	all := make([]json.RawMessage, v.List().Len())
	for i := range all {
		all[i] = json.RawMessage(whole(v.List().Get(i)))
	}
	if len(all) == 0 {
		return ""
	}
	return compact(all)
}

// whole writes a message as JSON.
func whole(v protoreflect.Value) string {
	b, err := protojson.Marshal(v.Message().Interface())
	if err != nil { // text that is not UTF-8, which no server sends
		return ""
	}
	return compact(json.RawMessage(b))
}

// compact writes JSON without the blanks that protojson puts in differently each time.
func compact[T json.RawMessage | []json.RawMessage](value T) string {
	b, err := json.Marshal(value)
	if err != nil {
		return ""
	}
	return string(b)
}
