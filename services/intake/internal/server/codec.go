package server

import (
	"fmt"
	"time"

	"google.golang.org/genproto/googleapis/type/date"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/pkg/quantity"
	"tackfree/pkg/wire"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	"tackfree/services/intake/internal/intake"
)

// decode reads a request into a piece that has everything but perhaps its tag.
func (s *Server) decode(r *intakev1.TakeInPieceRequest) (p intake.Piece, err error) {
	p = intake.Piece{ID: id.New(), Tag: r.Tag, Title: wire.Name(r.Title), Kind: wire.Name(r.Kind), Size: pieceSizes[r.Size], Condition: conditions[r.Condition],
		Client: wire.Name(r.GetCommission().GetClient())}
	if record := r.GetCommission().GetClientRecord(); record != "" {
		if p.ClientRecord, err = id.One("commission.client_record", record, "clients"); err != nil {
			return p, err
		}
	}
	if p.TakenInAt, err = s.Shop.Instant("taken_in_time", r.TakenInTime); err != nil {
		return p, err
	}
	cameIn := s.dayOf(p.TakenInAt)
	if buy := r.GetPurchase(); buy != nil {
		if p.Purchase, err = s.decodePurchase(buy, cameIn); err != nil {
			return p, err
		}
	}
	if p.Parts, err = decodeParts("parts", r.Parts); err != nil {
		return p, err
	}
	return intake.TakeIn(p, cameIn)
}

func decodeParts(field string, all []*intakev1.Part) (parts []intake.Part, err error) {
	for i, part := range all {
		decoded, err := decodePart(fmt.Sprintf("%s[%d]", field, i), part)
		if err != nil {
			return nil, err
		}
		parts = append(parts, decoded)
	}
	return parts, nil
}

// dayOf gives the shop's day of an instant.
func (s *Server) dayOf(t time.Time) time.Time {
	local := t.In(s.Shop.Zone)
	return time.Date(local.Year(), local.Month(), local.Day(), 0, 0, 0, 0, time.UTC)
}

// decodePurchase reads a purchase; one that names no day was made when the piece came in.
func (s *Server) decodePurchase(m *intakev1.Purchase, cameIn time.Time) (*intake.Purchase, error) {
	price, err := s.Shop.Money("purchase.price", m.Price)
	if err != nil {
		return nil, err
	}
	day, err := decodeDay("purchase.date", m.Date, cameIn)
	return &intake.Purchase{Price: price, Source: m.Source, Day: day}, err
}

// decodeDay reads the day of a purchase, which is cameIn if it is not said.
func decodeDay(field string, m *date.Date, cameIn time.Time) (time.Time, error) {
	day, err := wire.Day(field, m)
	if day.IsZero() {
		day = cameIn
	}
	return day, err
}

func decodePart(field string, m *intakev1.Part) (p intake.Part, err error) {
	p = intake.Part{ID: id.New(), Label: wire.Name(m.Label), Count: max(m.Count, 1)}
	if p.Length, err = decodeLength(field+".length", m.Length); err != nil {
		return p, err
	}
	if p.Width, err = decodeLength(field+".width", m.Width); err != nil {
		return p, err
	}
	p.Thickness, err = decodeLength(field+".thickness", m.Thickness)
	return p, err
}

// decodeLength reads an optional length.
func decodeLength(field string, m *typev1.Quantity) (quantity.Quantity, error) {
	if m == nil {
		return quantity.Quantity{}, nil
	}
	q, err := wire.Amount(field, m)
	if err != nil {
		return q, err
	}
	if q.Unit.Measure != quantity.Length {
		return q, fault.New(fault.Invalid, "UNIT_OF_ANOTHER_MEASURE", "%s is in %s, which is no length; use mm, cm, m, in, ft or yd.", fault.The(field), q.Unit.Symbol).At(field)
	}
	return q, nil
}

func (s *Server) encode(p intake.Piece) *intakev1.Piece {
	out := &intakev1.Piece{
		Name: id.Name("pieces", p.ID), Tag: p.Tag, Title: p.Title, Kind: p.Kind, State: states[p.State],
		TakenInTime: wire.ToInstant(p.TakenInAt), ScrapReason: p.ScrapReason, Etag: wire.Etag(p.Version),
		Size: named(pieceSizes, p.Size), Condition: named(conditions, p.Condition),
	}
	if p.Prospect != id.Nil {
		out.Prospect = id.Name("prospects", p.Prospect)
	}
	if p.Purchase == nil {
		theirs := &intakev1.Commission{Client: p.Client}
		if p.ClientRecord != id.Nil {
			theirs.ClientRecord = id.Name("clients", p.ClientRecord)
		}
		out.Origin = &intakev1.Piece_Commission{Commission: theirs}
	} else {
		bought := &intakev1.Purchase{Price: s.Shop.ToMoney(p.Purchase.Price), Source: p.Purchase.Source, Date: wire.ToDay(p.Purchase.Day)}
		if p.Purchase.Lot != id.Nil {
			bought.Lot = id.Name("lots", p.Purchase.Lot)
		}
		out.Origin = &intakev1.Piece_Purchase{Purchase: bought}
	}
	for _, part := range p.Parts {
		m := encodePart(part)
		m.Name = id.Name("pieces", p.ID, "parts", part.ID)
		out.Parts = append(out.Parts, m)
	}
	return out
}

// encodePart writes a part without its name.
func encodePart(p intake.Part) *intakev1.Part {
	return &intakev1.Part{Label: p.Label, Count: p.Count, Length: encodeLength(p.Length), Width: encodeLength(p.Width), Thickness: encodeLength(p.Thickness)}
}

var pieceSizes = map[typev1.PieceSize]intake.Size{
	typev1.PieceSize_PIECE_SIZE_UNSPECIFIED: "", typev1.PieceSize_PIECE_SIZE_SMALL: intake.Small,
	typev1.PieceSize_PIECE_SIZE_MEDIUM: intake.Medium, typev1.PieceSize_PIECE_SIZE_LARGE: intake.Large,
}

var conditions = map[typev1.PieceCondition]intake.Condition{
	typev1.PieceCondition_PIECE_CONDITION_UNSPECIFIED: "", typev1.PieceCondition_PIECE_CONDITION_SOUND: intake.Sound,
	typev1.PieceCondition_PIECE_CONDITION_WORN: intake.Worn, typev1.PieceCondition_PIECE_CONDITION_DAMAGED: intake.Damaged,
}

var states = map[intake.State]intakev1.Piece_State{
	intake.InHand: intakev1.Piece_STATE_IN_HAND, intake.Scrapped: intakev1.Piece_STATE_SCRAPPED,
}

func encodeLength(q quantity.Quantity) *typev1.Quantity {
	if q.Unit.Symbol == "" {
		return nil
	}
	return wire.ToQuantity(q.Value, q.Unit.Symbol)
}

func (s *Server) takenIn(p intake.Piece) *eventsv1.PieceTakenIn {
	e := &eventsv1.PieceTakenIn{Tag: p.Tag, Title: p.Title, Kind: p.Kind, Size: string(p.Size), Condition: string(p.Condition)}
	if p.Purchase == nil {
		theirs := &eventsv1.PieceTakenIn_Commission{Client: p.Client}
		if p.ClientRecord != id.Nil {
			theirs.ClientId = p.ClientRecord.String()
		}
		e.Origin = &eventsv1.PieceTakenIn_Commission_{Commission: theirs}
	} else {
		bought := &eventsv1.PieceTakenIn_Purchase{Price: s.Shop.ToMoney(p.Purchase.Price), Source: p.Purchase.Source, Date: wire.ToDay(p.Purchase.Day)}
		if p.Purchase.Lot != id.Nil {
			bought.LotId = p.Purchase.Lot.String()
		}
		e.Origin = &eventsv1.PieceTakenIn_Purchase_{Purchase: bought}
	}
	for _, part := range p.Parts {
		e.Parts = append(e.Parts, &eventsv1.PieceTakenIn_Part{PartId: part.ID.String(), Label: part.Label, Count: part.Count})
	}
	return e
}
