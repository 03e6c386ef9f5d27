package pg

import (
	"encoding/binary"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5/pgtype"
)

// registerLists lets the lists that batches are made of travel as rows to be copied do. The codec
// below asks for a way to write each element anew, which costs a booking more than all it decides.
func registerLists(m *pgtype.Map) {
	registerList(m, pgtype.UUIDArrayOID, pgtype.UUIDOID, func(r *Rows, i uuid.UUID) { r.ID(i) })
	registerList(m, pgtype.TextArrayOID, pgtype.TextOID, func(r *Rows, s string) { r.Text(s) })
	registerList(m, pgtype.Int2ArrayOID, pgtype.Int2OID, func(r *Rows, n int16) { r.Small(n) })
	registerList(m, pgtype.Int4ArrayOID, pgtype.Int4OID, func(r *Rows, n int32) { r.Integer(n) })
	registerList(m, pgtype.Int8ArrayOID, pgtype.Int8OID, func(r *Rows, n int64) { r.Big(n) })
	registerList(m, pgtype.BoolArrayOID, pgtype.BoolOID, func(r *Rows, is bool) { r.Bool(is) })
	registerList(m, pgtype.TimestamptzArrayOID, pgtype.TimestamptzOID, func(r *Rows, t time.Time) { r.Instant(t) })
}

func registerList[T any](m *pgtype.Map, list, element uint32, put func(*Rows, T)) {
	l, _ := m.TypeForOID(list)
	e, _ := m.TypeForOID(element)
	m.RegisterType(&pgtype.Type{Name: l.Name, OID: list, Codec: lists[T]{&pgtype.ArrayCodec{ElementType: e}, put}})
}

// lists writes lists of T; whatever else it is given, and what it reads, is the codec's below it.
type lists[T any] struct {
	*pgtype.ArrayCodec
	put func(*Rows, T)
}

// PlanEncode implements pgtype.Codec.
func (c lists[T]) PlanEncode(m *pgtype.Map, oid uint32, format int16, value any) pgtype.EncodePlan {
	if _, is := value.([]T); is && format == pgtype.BinaryFormatCode {
		return c
	}
	return c.ArrayCodec.PlanEncode(m, oid, format, value)
}

// Encode implements pgtype.EncodePlan. Before the elements stand how many dimensions there are, that
// none is null, their type, how many they are and from what number they count. A nil list is null.
func (c lists[T]) Encode(value any, buf []byte) ([]byte, error) {
	list := value.([]T)
	if list == nil {
		return nil, nil
	}
	dimensions := uint32(min(len(list), 1))
	for _, n := range []uint32{dimensions, 0, c.ElementType.OID} {
		buf = binary.BigEndian.AppendUint32(buf, n)
	}
	if dimensions == 0 {
		return buf, nil
	}
	buf = binary.BigEndian.AppendUint32(buf, uint32(len(list)))
	r := Rows{binary.BigEndian.AppendUint32(buf, 1)}
	for _, element := range list {
		c.put(&r, element)
	}
	return r.b, nil
}
