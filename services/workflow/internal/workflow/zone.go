package workflow

import (
	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// ZoneKind is what sort of place a zone is.
type ZoneKind string

// The kinds of zones.
const (
	BenchRoom ZoneKind = "bench room"
	Booth     ZoneKind = "booth"
	Rack      ZoneKind = "rack"
	Outdoors  ZoneKind = "outdoors"
)

// Zone is where the air is read, and pieces stand to dry.
type Zone struct {
	ID          id.ID
	Word        string
	DisplayName string
	Kind        ZoneKind
	Last        *Reading // nil: none yet
	Version     int64
}

// Check refuses a zone that nobody could name. Fault: ZONE_NAME_MALFORMED.
func (z Zone) Check() error {
	if !word.MatchString(z.Word) || len(z.Word) > 60 {
		return fault.New(fault.Invalid, "ZONE_NAME_MALFORMED",
			"A zone's name is lower-case words joined by hyphens, such as climateZones/spray-booth.").At("zone.name")
	}
	return nil
}
