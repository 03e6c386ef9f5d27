package words

import (
	"strings"
	"time"

	typev1 "tackfree/proto/tackfree/type/v1"
)

// Sentence says a sentence that a service wrote into an answer: in English as it came, and in another language by its
// reason, where the catalogue has that. Of a count it has said.REASON.one and said.REASON.other. A text names what
// stands in it, {until_date}, and leaves a part in square brackets out when something in it is not told.
func (v *Voice) Sentence(s *typev1.Said, english string, now time.Time) string {
	key := "said." + s.GetReason()
	switch {
	case v.Language == Languages[0]:
		return english
	case v.Has(key):
	case s.GetFigures()["count"] == "1" && v.Has(key+".one"):
		key += ".one"
	case v.Has(key + ".other"):
		key += ".other"
	default:
		return english
	}
	return v.filled(v.T(key), s, now)
}

// Sentences says several sentences, one behind the other.
func (v *Voice) Sentences(all []*typev1.Said, english string, now time.Time) string {
	if v.Language == Languages[0] || len(all) == 0 {
		return english
	}
	var out []string
	for _, s := range all {
		text := v.Sentence(s, "", now)
		if text == "" { // one that the catalogue does not have: then all as it came
			return english
		}
		out = append(out, text)
	}
	return strings.Join(out, " ")
}

// filled puts what stands in a sentence into its text.
func (v *Voice) filled(text string, s *typev1.Said, now time.Time) string {
	for {
		before, rest, has := strings.Cut(text, "[")
		part, after, closed := strings.Cut(rest, "]")
		if !has || !closed {
			break
		}
		if said := v.named(part, s, now); !strings.Contains(said, "{") {
			before += said
		}
		text = before + after
	}
	return v.named(text, s, now)
}

func (v *Voice) named(text string, s *typev1.Said, now time.Time) string {
	for name, value := range s.Figures {
		if strings.Contains(text, "{"+name+"}") {
			text = strings.ReplaceAll(text, "{"+name+"}", v.figure(name, value, s, now))
		}
	}
	return text
}

// figure writes what stands under a name.
func (v *Voice) figure(name, value string, s *typev1.Said, now time.Time) string {
	switch {
	case strings.HasSuffix(name, "_date"):
		if day, err := time.ParseInLocation(time.DateOnly, value, v.Zone); err == nil {
			return v.DayOf(day.Add(12 * time.Hour))
		}
	case strings.HasSuffix(name, "_time"):
		if at, err := time.Parse(time.RFC3339, value); err == nil {
			return v.WhenOf(at, now)
		}
	case name == "stage":
		return v.StageTitle(s.Figures["kind"], value)
	case name == "before":
		return v.StageTitle(s.Figures["before_kind"], value)
	case name == "station":
		return v.Word("station", value)
	case name == "of":
		return v.Word("stock.flames", strings.ReplaceAll(value, " ", "_"))
	case name == "refusal":
		return v.Word("fault", value)
	case name == "held" || name == "excess" || name == "limit":
		return strings.Replace(value, ".", v.T("decimal.point"), 1)
	}
	return value
}
