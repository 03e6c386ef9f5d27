package costing

// Late is what closed months come to now beyond what their closes have counted.
func (m *Months) Late() Figures {
	late := Figures{}
	for account, amount := range m.before {
		late[account] = amount
	}
	for _, c := range m.closes {
		late.add(c.Counted, -1)
	}
	return late
}

// Of is what a month comes to: as it was closed, or what happened in it and, in the first that is
// open, what is late.
func (m *Months) Of(month Month) Figures {
	if m.Closed(month) {
		return m.counted(month)
	}
	f := Figures{}
	f.add(m.in[month.First].Balances(), 1)
	f.add(m.LateOf(month).Balances(), 1)
	return f
}

// LateOf is what of a month is of months that were closed before: of a closed one as its close has counted it,
// of the first that is open all that is late now.
func (m *Months) LateOf(month Month) Figures {
	if c := m.Close(month); c != nil {
		return Figures{}.With(c.Late)
	}
	if first, some := m.FirstOpen(); some && first.First.Equal(month.First) {
		return m.Late()
	}
	return Figures{}
}

// counted is what a closed month comes to.
func (m *Months) counted(month Month) Figures {
	f := Figures{}
	if c := m.Close(month); c != nil {
		f.add(c.Counted, 1)
	}
	for _, e := range m.closes[0].Earlier {
		switch {
		case e.Day.Equal(month.First):
			f.add(e.Counted, 1)
		case m.closes[0].Month.First.Equal(month.First):
			f.add(e.Counted, -1)
		}
	}
	return f
}

// Between lists the months from the one to the other, with both.
func (m *Months) Between(from, to Month) (all []Month) {
	for month := from; !month.First.After(to.First); month = month.Next(m.zone) {
		all = append(all, month)
	}
	return all
}

// Through is what several months come to, from the one to the other.
func (m *Months) Through(from, to Month) Figures {
	f := Figures{}
	for _, month := range m.Between(from, to) {
		f.add(m.Of(month).Balances(), 1)
	}
	return f
}

// LateThrough is what of them is of months that were closed before the one that has it.
func (m *Months) LateThrough(from, to Month) Figures {
	f := Figures{}
	for _, month := range m.Between(from, to) {
		f.add(m.LateOf(month).Balances(), 1)
	}
	return f
}

// UpTo is what all months up to the end of one come to together.
func (m *Months) UpTo(last Month) Figures {
	f := Figures{}
	if !m.Closed(last) {
		f.add(m.before.Balances(), 1)
		for first, happened := range m.in {
			if !first.After(last.First) {
				f.add(happened.Balances(), 1)
			}
		}
		return f
	}
	for _, c := range m.closes {
		if !c.Month.First.After(last.First) {
			f.add(c.Counted, 1)
		}
	}
	if last.First.Before(m.closes[0].Month.First) {
		for _, e := range m.closes[0].Earlier {
			if !e.Day.After(last.First) {
				f.add(e.Counted, 1)
			}
		}
	}
	return f
}

// Before is all up to the end of the last closed month as it is known once a book is kept too.
func (m *Months) Before(b *Book) Figures {
	f := Figures{}
	f.add(m.before.Balances(), 1)
	first, some := m.FirstOpen()
	for _, t := range b.Transactions {
		if !some || !t.OccurredAt.Before(first.From) {
			continue
		}
		for _, l := range t.Lines {
			f[l.Account] += l.Amount
		}
	}
	return f
}
