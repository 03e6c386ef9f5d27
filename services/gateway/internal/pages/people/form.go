package people

import (
	"net/url"
	"slices"
	"strings"
)

// blankRows is how many rows for days off are shown beside those that there are.
const blankRows = 2

// formOf fills the form. What somebody has and nobody else, such as a skill that was typed, is shown too.
func formOf(values, was url.Values, k known) form {
	f := form{Name: values.Get("name"), From: values.Get("active_from"), To: values.Get("active_to"), Was: was.Encode()}
	f.Skills = skillRows(values["skills"], k.skills)
	for _, d := range weekdays {
		f.Days = append(f.Days, dayRowOf(d, values.Get("hours."+d)))
	}
	for _, line := range values["days_off"] {
		first, last, reason := splitDayOff(line)
		f.Off = append(f.Off, offRow{first, last, reason})
	}
	f.Off = append(f.Off, make([]offRow, blankRows)...)
	for _, s := range k.stations {
		checked := slices.Contains(values["stations"], s.Name)
		if !s.Retired || checked {
			f.Stations = append(f.Stations, stationRow{s.Name, s.DisplayName, checked})
		}
	}
	return f
}

func skillRows(has, all []string) (out []skill) {
	levels := map[string]int32{}
	for _, line := range has {
		word, level := splitSkill(line)
		if _, twice := levels[word]; !twice {
			levels[word] = level
		}
		if !slices.Contains(all, word) {
			all = append(slices.Clone(all), word)
		}
	}
	for _, word := range all {
		out = append(out, skill{word, levels[word]})
	}
	return out
}

func dayRowOf(day, line string) dayRow {
	row := dayRow{Day: day}
	spans := strings.Fields(line)
	if len(spans) == 0 {
		return row
	}
	row.Start, row.End, _ = strings.Cut(spans[0], "-")
	row.Breaks = strings.Join(spans[1:], ", ")
	return row
}
