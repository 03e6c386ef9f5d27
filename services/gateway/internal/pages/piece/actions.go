package piece

import (
	"net/http"
	"net/url"
	"slices"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/typed"
	"tackfree/services/gateway/internal/web"
	"tackfree/services/gateway/internal/words"
)

// actions are what can be done with a piece from its page, and what was typed if that was refused.
type actions struct {
	Path     string
	Stations []*workflowv1.Station
	Parts    []*intakev1.Part
	Finished []*workflowv1.Stage // that can be sent back, the last first
	Open     []*workflowv1.Stage // that others could do
	Day      string              // the promise as it stands
	Time     string
	Value    string                    // what the lead says it is worth
	Away     []*workflowv1.OutsideWork // what others have
	Etag     string
	Here     bool       // it was neither given up nor sold, or came back to be mended: it can be worked on
	Ours     bool       // and it is not somebody's who bought it: it can be given up
	Issues   []issueRow // of material, that count
	Units    []string   // in which what came back may be said
	Inspect  []*workflowv1.Stage
	Defects  []string            // words for what can be wrong
	Entries  []entryRow          // of the clock
	Routes   []*workflowv1.Route // by which it could go; it has no stages
	Selling  *selling
	Typed    typedIn
}

// typedIn is a form that was refused: its name, and what was typed into it.
type typedIn struct {
	Form      string
	Values    url.Values
	Suggested *suggested // by when it could be promised; nil: nobody asked
}

// Was gives what was typed into a field of a form, or else what stands there.
func (t typedIn) Was(form, field, stands string) string {
	if t.Form != form {
		return stands
	}
	return t.Values.Get(field)
}

// Has reports whether a value was chosen in a list of a form that was refused.
func (t typedIn) Has(form, field, value string) bool {
	return t.Form == form && slices.Contains(t.Values[field], value)
}

func actionsOf(it whole, in typedIn) actions {
	c := actions{Path: it.Path, Parts: it.Piece.Parts, Typed: in}
	for _, s := range it.Now.Stations {
		if !s.Retired {
			c.Stations = append(c.Stations, s)
		}
	}
	for _, o := range it.Now.Outside {
		if o.State == workflowv1.OutsideWork_STATE_OUT {
			c.Away = append(c.Away, o.OutsideWork)
		}
	}
	for _, s := range it.Floor.Stages {
		if s.State == workflowv1.Stage_STATE_FINISHED {
			c.Finished = append([]*workflowv1.Stage{s}, c.Finished...)
		} else {
			c.Open = append(c.Open, s)
		}
	}
	return c
}

// promised writes until when it is promised, and what it is worth, as a form takes it, by the clock on the shop's wall.
func (c *actions) promised(line *workflowv1.BoardLine, voice *words.Voice) {
	c.Value = plain(line.GetValue(), voice.Currency)
	if at := line.GetPromiseTime(); at != nil {
		local := at.AsTime().In(voice.Zone)
		c.Day, c.Time = local.Format(time.DateOnly), local.Format("15:04")
	}
}

// done is a command that a form gives: what is said after it, a key of the catalogue.
type done func(a *web.Asked, p *intakev1.Piece, f *typed.Form) (said string, err error)

// command gives a form's command. One that is refused shows the page again, with what was typed.
func command(give done) web.Handler {
	return func(w http.ResponseWriter, a *web.Asked) error {
		p, err := find(a)
		if err != nil {
			return err
		}
		said, err := give(a, p, &typed.Form{Values: a.PostForm, Voice: a.Voice})
		if err == nil {
			return a.After(w, pathOf(p), said)
		}
		if f := fault.Of(err); f == nil || f.Kind == fault.Internal || f.Kind == fault.Denied {
			return err
		}
		return showWith(w, a, p, typedIn{Form: idOf(a.URL.Path), Values: a.PostForm}, err)
	}
}

func promise(a *web.Asked, p *intakev1.Piece, f *typed.Form) (string, error) {
	value := f.Money("value")
	at, err := promiseTime(a, f)
	if err != nil {
		return "", err
	}
	_, err = a.Kit.Suite.Stages.PromisePiece(a.Context(), &workflowv1.PromisePieceRequest{RequestId: a.RequestID(), Piece: p.Name, PromiseTime: at, Value: value})
	return "piece.promise.done", err
}

// promiseTime reads a day and a time of day, which is when the shop closes that day if nobody says it; nil: no day
// was typed. What else of the form cannot be read is refused with it, before anything is asked.
func promiseTime(a *web.Asked, f *typed.Form) (*timestamppb.Timestamp, error) {
	day, clock := f.Day("day"), f.Text("time")
	if day == nil || f.Err() != nil {
		return nil, f.Err()
	}
	if clock != "" {
		at := f.AnInstant(f.Text("day") + " " + clock)
		return at, f.Err()
	}
	at, err := a.Kit.Suite.Closing(a.Context(), day, a.Voice.Zone)
	return timestamppb.New(at), err
}

func move(a *web.Asked, p *intakev1.Piece, f *typed.Form) (string, error) {
	_, err := a.Kit.Suite.Stations.MovePiece(a.Context(), &workflowv1.MovePieceRequest{RequestId: a.RequestID(), Piece: p.Name, Part: f.Text("part"), Station: f.Text("station")})
	return "piece.move.done", err
}

func sendBack(a *web.Asked, _ *intakev1.Piece, f *typed.Form) (string, error) {
	_, err := a.Kit.Suite.Stages.SendBackStage(a.Context(), &workflowv1.SendBackStageRequest{RequestId: a.RequestID(), Stage: f.Text("stage"), Reason: f.Text("reason")})
	return "piece.back.done", err
}

func sendOut(a *web.Asked, p *intakev1.Piece, f *typed.Form) (string, error) {
	due, quoted := f.Day("due"), f.Money("quoted")
	if err := f.Err(); err != nil {
		return "", err
	}
	if due == nil {
		return "", fault.New(fault.Invalid, "DUE_MISSING", "%s", a.Voice.T("piece.out.due.missing")).At("due")
	}
	_, err := a.Kit.Suite.Outside.SendOut(a.Context(), &workflowv1.SendOutRequest{RequestId: a.RequestID(), Piece: p.Name, Part: f.Text("part"),
		Kind: f.Text("kind"), Firm: f.Text("firm"), Quoted: quoted, DueDate: due, Stage: f.Text("stage")})
	return "piece.out.done", err
}

func receive(a *web.Asked, _ *intakev1.Piece, f *typed.Form) (string, error) {
	billed := f.Money("billed")
	if err := f.Err(); err != nil {
		return "", err
	}
	_, err := a.Kit.Suite.Outside.ReceiveOutsideWork(a.Context(), &workflowv1.ReceiveOutsideWorkRequest{RequestId: a.RequestID(),
		OutsideWork: f.Text("outside"), Billed: billed, CalledOff: f.Text("undone") != "", Station: f.Text("station")})
	return "piece.in.done", err
}
