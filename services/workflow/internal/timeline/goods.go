package timeline

import (
	"fmt"

	eventsv1 "tackfree/proto/tackfree/events/v1"
)

func piecePromised(t Teller, e *eventsv1.Envelope) Told {
	p := e.GetPiecePromised()
	s := "the piece is promised to nobody"
	if p.PromiseTime != nil {
		s = "the piece is promised for " + t.at(p.PromiseTime)
	}
	if p.Value != nil && !t.Moneyless {
		s += ", and is worth " + t.money(p.Value)
	}
	return Told{Text: sentence("%s", s)}
}

func pieceMoved(_ Teller, e *eventsv1.Envelope) Told {
	m := e.GetPieceMoved()
	if m.Station == "" {
		return Told{Text: sentence("carried away from its station: %s", parts(m.PartLabels))}
	}
	return Told{Text: sentence("carried to %s: %s", m.Station, parts(m.PartLabels))}
}

func sentOut(t Teller, e *eventsv1.Envelope) Told {
	o := e.GetSentOut()
	s := fmt.Sprintf("%s went to %s for %s, due on %s", parts(o.PartLabels), o.Firm, words(o.Kind), on(o.Due))
	if o.Quoted != nil && !t.Moneyless {
		s += ", for " + t.money(o.Quoted)
	}
	return Told{Stage: o.StageId, Text: sentence("%s", s)}
}

func chased(_ Teller, e *eventsv1.Envelope) Told {
	c := e.GetOutsideWorkChased()
	s := "somebody asked after the work that others do"
	if c.Firm != "" {
		s = fmt.Sprintf("%s was asked about %s", c.Firm, words(c.Kind))
	}
	if c.Due != nil {
		s += ", which is now due on " + on(c.Due)
	}
	return Told{Text: sentence("%s%s", s, because(c.Note))}
}

func received(t Teller, e *eventsv1.Envelope) Told {
	r := e.GetOutsideWorkReceived()
	if t.Moneyless {
		how := again(r.Pass)
		if r.CalledOff {
			how = " undone"
		}
		return Told{Stage: r.StageId, Text: sentence("what %s had for %s came back%s", r.Firm, words(r.Kind), how)}
	}
	if r.CalledOff {
		return Told{Stage: r.StageId, Text: sentence("what %s had for %s came back undone; billed was %s", r.Firm, words(r.Kind), t.money(r.Billed))}
	}
	if r.Billed == nil {
		return Told{Stage: r.StageId, Text: sentence("what %s had for %s came back%s; its bill is yet to come", r.Firm, words(r.Kind), again(r.Pass))}
	}
	return Told{Stage: r.StageId, Text: sentence("what %s had for %s came back%s; billed was %s", r.Firm, words(r.Kind), again(r.Pass), t.money(r.Billed))}
}

func billCorrected(t Teller, e *eventsv1.Envelope) Told {
	b := e.GetOutsideBillCorrected()
	what := "what others billed"
	if b.Firm != "" {
		what = fmt.Sprintf("what %s billed for %s", b.Firm, words(b.Kind))
	}
	if t.Moneyless {
		return Told{Text: sentence("%s was corrected%s", what, because(b.Reason))}
	}
	if b.Before == nil {
		return Told{Text: sentence("%s was %s%s", what, t.money(b.After), because(b.Reason))}
	}
	return Told{Text: sentence("%s was %s and not %s%s", what, t.money(b.After), t.money(b.Before), because(b.Reason))}
}
