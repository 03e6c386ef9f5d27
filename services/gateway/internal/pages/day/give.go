package day

import (
	"net/http"
	"path"
	"slices"
	"strings"

	"golang.org/x/sync/errgroup"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/gateway/internal/sold"
	"tackfree/services/gateway/internal/titles"
	"tackfree/services/gateway/internal/web"
)

// giving is a stage and who could get it.
type giving struct {
	Stage   *workflowv1.Stage
	Title   string
	Tag     int32
	Name    string
	Chosen  string // people/{id}
	Beside  bool
	Sold    bool // its piece was: there is nothing to give
	Skilled []*workflowv1.Person
	Others  []*workflowv1.Person
}

func lastOf(name string) string { return path.Base(name) }

// giveFacts reads the stage that the address or the form names, and people.
func (d *day) giveFacts(a *web.Asked, name string) (it giving, err error) {
	it.Name = name
	var people []*workflowv1.Person
	reading, ctx := errgroup.WithContext(a.Context())
	reading.Go(func() error {
		r, err := a.Kit.Suite.Stages.GetStage(ctx, &workflowv1.GetStageRequest{Name: name})
		it.Stage = r.GetStage()
		return err
	})
	reading.Go(func() (err error) {
		people, err = peopleOf(ctx, a.Kit.Suite)
		return err
	})
	piece := titles.PieceOf(name)
	reading.Go(func() error {
		gone, err := sold.Among(ctx, a.Kit.Suite.Sales, a.Kit.Suite.Floor, []string{piece})
		it.Sold = gone[piece]
		return err
	})
	reading.Go(func() error {
		called, err := d.book.Of(ctx, a.Kit.Suite.Intake, []string{piece})
		it.Tag, it.Title = called[piece].Tag, called[piece].Title
		return err
	})
	if err := reading.Wait(); err != nil {
		return it, err
	}
	it.Skilled, it.Others = whoCould(it.Stage, people, a)
	return it, nil
}

// whoCould parts those who belong to the shop by whether they have the stage's skill. Whether it is
// good enough, and whatever else stands against it, workflow says.
func whoCould(s *workflowv1.Stage, people []*workflowv1.Person, a *web.Asked) (skilled, others []*workflowv1.Person) {
	for _, p := range people {
		switch {
		case !belongs(p, a.Now().In(a.Voice.Zone)):
		case s.Skill == "" || slices.Contains(p.Skills, s.Skill):
			skilled = append(skilled, p)
		default:
			others = append(others, p)
		}
	}
	return skilled, others
}

// Words says what is done in the reader's language.
func (g giving) Words(v *web.View) string {
	title := strings.ReplaceAll(g.Stage.Key, "_", " ")
	if g.Stage.PartLabel != "" {
		title += " (" + g.Stage.PartLabel + ")"
	}
	return stageIn(v.Voice, g.Stage.Kind, title)
}

func (d *day) showGive(w http.ResponseWriter, a *web.Asked) error {
	it, err := d.giveFacts(a, a.URL.Query().Get("stage"))
	if err != nil {
		return err
	}
	it.Chosen = it.Stage.Assignee
	return a.Show(w, "give", a.Voice.T("day.give.title"), it)
}

// give gives the stage to whom was chosen, or takes it back from all.
func (d *day) give(w http.ResponseWriter, a *web.Asked) error {
	r := &workflowv1.AssignStageRequest{RequestId: a.RequestID(), Stage: a.Typed("stage"), Person: a.Typed("person"), Beside: a.Typed("beside") != ""}
	done, err := a.Kit.Suite.Stages.AssignStage(a.Context(), r)
	switch {
	case fault.Of(err) != nil:
		return d.refuseGive(w, a, r, err)
	case err != nil:
		return err
	case done.Absence != "":
		return a.After(w, "/day", "day.give.absent")
	case r.Person == "":
		return a.After(w, "/day", "day.give.taken")
	}
	return a.After(w, "/day", "day.give.done")
}

func (d *day) refuseGive(w http.ResponseWriter, a *web.Asked, r *workflowv1.AssignStageRequest, refused error) error {
	it, err := d.giveFacts(a, r.Stage)
	if err != nil {
		return err
	}
	it.Chosen, it.Beside = r.Person, r.Beside
	return a.ShowRefused(w, "give", a.Voice.T("day.give.title"), it, refused)
}
