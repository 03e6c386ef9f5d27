package scenario

import (
	"context"
	"fmt"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// player is the state of a story that is being played.
type player struct {
	*Scenario
	ctx   context.Context
	shop  *client.Shop
	terms client.Terms

	people   map[string]*workflowv1.Person // by display name
	products map[string]string
	pieces   map[string]*piece // by tag
	batches  map[string]*batch // by name
}

// piece is what the player remembers of a piece, so as not to ask again.
type piece struct {
	name   string
	title  string
	parts  map[string]string // label: resource name
	stages map[string]string // title: resource name
	issues map[string]string // stage title and product: resource name of the last issue
	out    map[string]string // part label: resource name of the last work that others did on it
	sale   string
}

// batch is what the player remembers of a batch.
type batch struct {
	name   string
	stages []string // resource names
}

// Play plays the story. say is told of each command before it is given, with its number
// and how many there are.
func Play(ctx context.Context, shop *client.Shop, s *Scenario, say func(done, all int, text string)) error {
	p := &player{Scenario: s, ctx: ctx, shop: shop, people: map[string]*workflowv1.Person{}, products: map[string]string{}, pieces: map[string]*piece{},
		batches: map[string]*batch{}}
	var err error
	if p.terms, err = client.NewTerms(s.Currency, s.Zone); err != nil {
		return err
	}
	commands, err := p.commands()
	if err != nil {
		return err
	}
	for i, c := range commands {
		say(i+1, len(commands), p.line(c))
		p.ctx = caller.With(ctx, caller.Caller{Actor: c.by})
		if err := c.run(p); err != nil {
			return fmt.Errorf("%s: %w", p.line(c), err)
		}
	}
	return nil
}

func (p *player) line(c command) string {
	if c.at.IsZero() {
		return c.text
	}
	return c.at.In(p.terms.Zone).Format("Mon _2 Jan 15:04  ") + c.text
}

// commands turns the story into calls: first what there is, then what happens, by time.
func (p *player) commands() ([]command, error) {
	var out []command
	for i := range p.Zones {
		out = append(out, p.there(zone(&p.Zones[i])))
	}
	for i := range p.Stations {
		out = append(out, p.there(station(&p.Stations[i])))
	}
	for _, person := range p.People {
		out = append(out, p.addPerson(person))
	}
	for _, r := range p.Routes {
		out = append(out, p.saveRoute(r))
	}
	for _, product := range p.Products {
		out = append(out, p.addProduct(product))
	}
	var happening []command
	for i := range p.Steps {
		c, err := p.step(&p.Steps[i])
		if err != nil {
			return nil, fmt.Errorf("scenario: step %d: %w", i+1, err)
		}
		happening = append(happening, c...)
	}
	return append(out, byTime(happening, p.until)...), nil
}

// there is a command about what there is from the beginning.
func (p *player) there(text string, run run) command {
	return command{by: p.owner(), text: text, run: run}
}

// owner gives the commands that nobody else is named for.
func (p *player) owner() string { return p.People[0].Name }

// newRequest makes a request id. The story is played once, so it need not be repeatable.
func newRequest() string { return id.New().String() }

func (p *player) piece(tag string) (*piece, error) {
	if known := p.pieces[tag]; known != nil {
		return known, nil
	}
	return nil, fmt.Errorf("there is no piece %s yet", tag)
}

func (p *player) stage(ref StageRef) (string, error) {
	piece, err := p.piece(ref.Piece)
	if err != nil {
		return "", err
	}
	if name := piece.stages[ref.Stage]; name != "" {
		return name, nil
	}
	return "", fmt.Errorf("piece %s has no stage %q", ref.Piece, ref.Stage)
}

// batch finds a batch that was formed.
func (p *player) batch(name string) (*batch, error) {
	if known := p.batches[name]; known != nil {
		return known, nil
	}
	return nil, fmt.Errorf("there is no batch %q yet", name)
}

func (p *player) person(name string) (string, error) {
	if known := p.people[name]; known != nil {
		return known.Name, nil
	}
	return "", fmt.Errorf("nobody is called %q", name)
}

func (p *player) product(name string) (string, error) {
	if known := p.products[name]; known != "" {
		return known, nil
	}
	return "", fmt.Errorf("no product is called %q", name)
}
