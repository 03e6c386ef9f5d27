package workflow_test

import (
	"strings"
	"testing"
	"time"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// booth is one that holds so many pieces.
func booth(word string, capacity int32) workflow.Station {
	return workflow.Station{ID: id.New(), Word: word, Name: "The " + word, Kind: workflow.SprayBooth, Capacity: capacity, Unit: workflow.InPieces, Version: 1}
}

// stands is a part of a piece that came to a station some minutes after nine.
func stands(s *workflow.Station, piece workflow.Piece, part workflow.Part, minute int) workflow.Placement {
	p := workflow.Placement{ID: id.New(), Piece: piece.ID, PieceTag: piece.Tag, Part: part.ID, PartLabel: part.Label, Takes: part.Count,
		Station: s.ID, StationWord: s.Word, From: minutesAfter(minute)}
	s.Holds = append(s.Holds, p)
	return p
}

func minutesAfter(m int) time.Time { return nine.Add(time.Duration(m) * time.Minute) }

func pieceOf(tag int32) workflow.Piece {
	return workflow.Piece{ID: id.New(), Tag: tag, TakenIn: nine.AddDate(0, 0, -1), Planned: true, Version: 1}
}

func alike(label string, count int32) workflow.Part {
	return workflow.Part{ID: id.New(), Label: label, Count: count}
}

func TestStation_Check(t *testing.T) {
	for word, good := range map[string]bool{"booth": true, "bench-2": true, "2": true, "": false, "Booth": false, "bench 2": false, "-bench": false,
		strings.Repeat("b", 60): true, strings.Repeat("b", 61): false} {
		err := workflow.Station{Word: word}.Check()
		if good != (err == nil) || !good && (!fault.Is(err, "STATION_NAME_MALFORMED") || fault.Of(err).Fields[0].Path != "name") {
			t.Errorf("Check of %q = %v", word, err)
		}
	}
	twice := workflow.Station{Word: "booth", Open: []workflow.WorkingDay{works(t, time.Monday, "08:00-12:00"), works(t, time.Monday, "13:00-17:00")}}
	if err := twice.Check(); !fault.Is(err, "HOURS_MALFORMED") || fault.Of(err).Fields[0].Path != "open_hours[1].day" {
		t.Errorf("Check of one that opens twice on a day = %v", err)
	}
}

// A station is not made smaller than what stands there, by what it counts.
func TestStation_CheckHolds(t *testing.T) {
	rack := booth("rack", 2)
	dresser, table := pieceOf(7), pieceOf(9)
	stands(&rack, dresser, alike("drawer", 4), 0)
	stands(&rack, dresser, alike("top", 1), 0)
	stands(&rack, table, workflow.Part{Count: 1}, 5)
	if err := rack.CheckHolds(); err != nil {
		t.Errorf("two pieces in a rack for two = %v", err)
	}
	rack.Capacity = 1
	err := rack.CheckHolds()
	refusedWords(t, err, "STATION_HOLDS_MORE", "2 pieces", "piece 7 (drawer), piece 7 (top), piece 9")
	rack.Unit, rack.Capacity = workflow.InParts, 6
	if err := rack.CheckHolds(); err != nil {
		t.Errorf("six parts in a rack for six = %v", err)
	}
	rack.Capacity = 5
	refusedWords(t, rack.CheckHolds(), "STATION_HOLDS_MORE", "6 parts")
}

func TestStation_Opens(t *testing.T) {
	s := workflow.Station{}
	if at := nine.In(zone(t, "America/Chicago")); !s.OpenAt(at) || !s.Opens(at).Equal(at) {
		t.Error("a station without hours is not open")
	}
	for day := time.Monday; day <= time.Friday; day++ {
		s.Open = append(s.Open, works(t, day, "07:00-19:00"))
	}
	s.Open = append(s.Open, works(t, time.Saturday, "20:00-03:30"))
	for at, want := range map[string]string{
		"2026-03-02 12:59": "2026-03-02 13:00", // Monday 06:59 in Chicago
		"2026-03-02 13:00": "2026-03-02 13:00",
		"2026-03-03 00:59": "2026-03-03 00:59",
		"2026-03-03 01:00": "2026-03-03 13:00", // 19:00
		"2026-03-07 14:00": "2026-03-08 02:00", // Saturday morning
		"2026-03-08 08:29": "2026-03-08 08:29", // 03:29 on Sunday, after 01:59 and 03:00
		"2026-03-08 08:30": "2026-03-09 12:00", // by Monday, in summer time
		"2026-11-01 08:00": "2026-11-01 08:00", // 02:00 in winter time, open since Saturday
		"2026-11-01 09:30": "2026-11-02 13:00",
		"2028-02-29 13:00": "2028-02-29 13:00", // a Tuesday
	} {
		instant := utc(t, at).In(zone(t, "America/Chicago"))
		if got := s.Opens(instant).UTC().Format("2006-01-02 15:04"); got != want || s.OpenAt(instant) != (at == want) {
			t.Errorf("at %s it is open %v and opens %s, want %s", at, s.OpenAt(instant), got, want)
		}
	}
}

// Where a station is open only when the clock is put forward, it opens a week later.
func TestStation_Opens_NotInTheGap(t *testing.T) {
	s := workflow.Station{Open: []workflow.WorkingDay{works(t, time.Sunday, "02:00-03:00")}}
	got := s.Opens(utc(t, "2026-03-02 12:00").In(zone(t, "America/Chicago")))
	if want := "2026-03-15 02:00 CDT"; got.Format("2006-01-02 15:04 MST") != want {
		t.Errorf("it opens %v, want %s", got, want)
	}
}
