package sim

import (
	"slices"
	"time"
)

// appointments are what is fixed for somebody on a day beside tidying up.
func appointments(name string, today time.Time) (out []fixed) {
	for _, a := range []struct {
		names []string
		fixed
	}{
		{[]string{"Florin", "Jovan"}, fixed{day(tuesday, 9, 30), day(tuesday, 10, 40), "pick_up"}},
		{[]string{"Dragan", "Esi", "Florin"}, fixed{day(tuesday, 15, 25), day(tuesday, 15, 30), ""}},
		{[]string{"Esi", "Florin"}, fixed{day(tuesday, 15, 30), day(tuesday, 15, 52), ""}},
		{[]string{"Dragan", "Esi", "Florin"}, fixed{day(wednesday, 8, 30), day(wednesday, 8, 31), ""}},
		{[]string{"Anselm", "Esi", "Hakim", "Imogen"}, fixed{day(wednesday, 13, 0), day(wednesday, 14, 0), "training"}},
		{[]string{"Bao", "Hakim"}, fixed{day(friday, 14, 0), day(friday, 14, 45), "pick_up"}},
		{[]string{"Carmen"}, fixed{day(saturday, 9, 0), day(saturday, 9, 40), "pick_up"}},
	} {
		if date(a.from) == date(today) && slices.Contains(a.names, name) {
			out = append(out, a.fixed)
		}
	}
	return out
}

// happen tells what happens at a minute whatever people do.
func (s *shop) happen() {
	for _, pc := range s.pieces {
		if pc.in.Equal(s.now) {
			s.comes(pc)
		}
	}
	minute := s.now.Hour()*60 + s.now.Minute()
	if slices.Contains([]int{7*60 + 40, 12*60 + 5, 16 * 60}, minute) {
		s.readAir(minute)
	}
	switch {
	case s.now.Equal(day(tuesday, 15, 40)):
		s.reconnect()
	case s.now.Equal(day(wednesday, 8, 30)):
		s.gather("Dragan", "Esi", "Florin")
	case s.now.Equal(day(friday, 7, 45)):
		s.remember()
	case minute == 16*60+5:
		s.sendOut()
	}
	s.outside()
}

// readAir tells what the air is like in the rooms: warmer and drier as the day goes on.
func (s *shop) readAir(minute int) {
	for _, z := range zones {
		warm := float64(s.between(182, 196)+(minute-7*60)/40) / 10
		s.say(s.now, "air", air{Zone: z.Word, Celsius: warm, Humidity: float64(s.between(42, 55))})
	}
}

// firm is somebody who does what the shop does not.
type firm struct {
	kind, name, quoted, billed string
	corrected                  string    // an hour after it came back; empty: the bill was right
	from                       time.Time // when a seat can go there
	due                        time.Time
	asked, back                time.Time // zero: nobody asks, it stays out
	seat                       *stage
}

func firms() []*firm {
	return []*firm{
		{kind: "upholstery", name: "Hollow & Daughter, upholsterers", quoted: "145.00", billed: "145.00", from: day(0, 16, 0), due: day(thursday, 0, 0), back: day(thursday, 11, 15)},
		{kind: "caning", name: "Reedmere Caning", quoted: "98.00", billed: "112.50", corrected: "121.50", from: day(tuesday, 16, 0), due: day(friday, 0, 0), asked: day(friday, 10, 20), back: day(saturday, 9, 45)},
		{kind: "upholstery", name: "Hollow & Daughter, upholsterers", quoted: "160.00", from: day(wednesday, 16, 0), due: day(saturday+6, 0, 0)},
	}
}

// sendOut sends a seat to each firm that has none yet.
func (s *shop) sendOut() {
	for _, pc := range s.pieces {
		st := pc.stageOf("upholster")
		if st == nil || st.part.away || st.after[0].done.IsZero() || st.after[0].done.After(s.now) || !st.done.IsZero() {
			continue
		}
		i := slices.IndexFunc(s.firms, func(f *firm) bool { return f.seat == nil && !s.now.Before(f.from) })
		if i < 0 {
			return
		}
		f := s.firms[i]
		f.seat, st.part.away = st, true
		st.part.goes(nil, s.now)
		s.say(s.now, "send_out", sendOut{Piece: pc.tag(), Part: st.part.Label, Stage: st.title(), Kind: f.kind, Firm: f.name, Quoted: f.quoted, Due: date(f.due)})
	}
}

// outside tells who asks after what is out, and what comes back.
func (s *shop) outside() {
	for _, f := range s.firms {
		if f.seat == nil {
			continue
		}
		tag, label := f.seat.piece.tag(), f.seat.part.Label
		switch {
		case f.asked.Equal(s.now):
			s.say(s.now, "chase", chase{Piece: tag, Part: label, Note: "the cane came late; Saturday morning", Due: date(day(saturday, 0, 0))})
		case f.back.Equal(s.now):
			s.say(s.now, "back", back{Piece: tag, Part: label, Billed: f.billed})
			f.seat.part.away, f.seat.done, f.seat.left = false, s.now, 0
		case f.corrected != "" && f.back.Add(time.Hour).Equal(s.now):
			s.say(s.now, "bill", bill{Piece: tag, Part: label, Billed: f.corrected, Reason: "a second skein of cane"})
		}
	}
}
