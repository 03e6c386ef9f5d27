package scenario

import (
	"google.golang.org/protobuf/encoding/protojson"

	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
)

// Sheet is what a coating's data sheet says, in the API's own JSON.
type Sheet struct{ message *typev1.CoatingSheet }

// UnmarshalJSON implements json.Unmarshaler. A field that a sheet does not have is an error.
func (s *Sheet) UnmarshalJSON(b []byte) error {
	s.message = &typev1.CoatingSheet{}
	return protojson.Unmarshal(b, s.message)
}

// setSheet says what is on a coating's data sheet; of what is none there is nothing to say.
func (p *player) setSheet(product string, s *Sheet) error {
	if s == nil {
		return nil
	}
	_, err := p.shop.Materials.SetCoatingSheet(p.ctx, &materialsv1.SetCoatingSheetRequest{RequestId: newRequest(), Product: product, CoatingSheet: s.message})
	return err
}
