package commissions

import (
	"net/url"

	"tackfree/pkg/fault"
	"tackfree/services/gateway/internal/edits"
	"tackfree/services/gateway/internal/web"
)

// sheet is a form of what is there already, which two people may change at once.
type sheet struct {
	Values url.Values
	Was    string
	Etag   string
	Sides  []edits.Side
	Key    string // sides are called by the catalogue under KEY.FIELD
}

// V is what a field has.
func (s sheet) V(field string) string { return s.Values.Get(field) }

// addressLine is one of an address, from 1.
type addressLine struct {
	N     int
	Value string
}

// Address is so many lines, those of the address first.
func (s sheet) Address(lines int) []addressLine {
	out := make([]addressLine, max(lines, len(s.Values["address"])))
	for i := range out {
		out[i].N = i + 1
		if all := s.Values["address"]; i < len(all) {
			out[i].Value = all[i]
		}
	}
	return out
}

// sheetOf is a form as it is opened.
func sheetOf(key string, now url.Values, etag string) *sheet {
	return &sheet{Values: now, Was: now.Encode(), Etag: etag, Key: key}
}

// refusedSheet is a form that was refused, with what was typed; where others changed something meanwhile, with both.
func refusedSheet(a *web.Asked, key string, fields []edits.Field, now url.Values, etag string, refused error) (*sheet, error) {
	s := &sheet{Values: a.PostForm, Was: a.Typed("was"), Etag: a.Typed("etag"), Key: key}
	if !fault.Is(refused, "ETAG_MISMATCH") {
		return s, refused
	}
	was, err := url.ParseQuery(s.Was)
	if err != nil {
		was = url.Values{}
	}
	mine := told(a.PostForm, fields)
	s.Sides, s.Values = edits.Compare(fields, was, now, mine), edits.Merge(fields, was, now, mine)
	s.Was, s.Etag = now.Encode(), etag
	return s, fault.New(fault.Conflict, "CHANGED_MEANWHILE", "%s", a.Voice.T("edits.changed"))
}

// told keeps of a form its own fields, without empty lines.
func told(form url.Values, fields []edits.Field) url.Values {
	out := url.Values{}
	for _, f := range fields {
		for _, v := range form[f.Name] {
			if v != "" || !f.Many {
				out.Add(f.Name, v)
			}
		}
	}
	return out
}
