package pg

import (
	"fmt"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5/pgtype"
	pgxuuid "github.com/vgarvardt/pgx-google-uuid/v5"
)

// uuids reads ids from the sixteen bytes as which they travel. The codec below it would leave
// that to the type's own Scan, which is made for text, and costs several times as much.
type uuids struct{ pgxuuid.UUIDCodec }

// PlanScan implements pgtype.Codec.
func (c uuids) PlanScan(m *pgtype.Map, oid uint32, format int16, target any) pgtype.ScanPlan {
	if format == pgtype.BinaryFormatCode {
		switch target.(type) {
		case *uuid.UUID:
			return scanUUID{}
		case *uuid.NullUUID:
			return scanNullUUID{}
		}
	}
	return c.UUIDCodec.PlanScan(m, oid, format, target)
}

func registerUUIDs(m *pgtype.Map) {
	pgxuuid.Register(m)
	m.RegisterType(&pgtype.Type{Name: "uuid", OID: pgtype.UUIDOID, Codec: uuids{}})
}

type scanUUID struct{}

// Scan implements pgtype.ScanPlan.
func (scanUUID) Scan(src []byte, target any) error {
	if len(src) != 16 {
		return fmt.Errorf("an id of %d bytes", len(src)) // NULL, of none
	}
	copy(target.(*uuid.UUID)[:], src)
	return nil
}

type scanNullUUID struct{}

// Scan implements pgtype.ScanPlan.
func (scanNullUUID) Scan(src []byte, target any) error {
	if src == nil {
		*target.(*uuid.NullUUID) = uuid.NullUUID{}
		return nil
	}
	n := target.(*uuid.NullUUID)
	n.Valid = true
	return scanUUID{}.Scan(src, &n.UUID)
}
