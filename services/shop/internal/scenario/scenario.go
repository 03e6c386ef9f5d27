// Package scenario plays a written story of a shop through its public interfaces, as its
// people would: every instant is in the story, so the books come out the same each time.
//
//	file ─▶ Read ─▶ commands by time ─▶ Play ─▶ services
package scenario

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"slices"
	"time"

	"tackfree/pkg/wallclock"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// Scenario is a story: who and what there is, and what happens when. Times are the shop's
// local ones, "2026-03-02 08:00".
type Scenario struct {
	Shop       string              `json:"shop"`
	Currency   string              `json:"currency"`
	Zone       string              `json:"zone"`
	Zones      []Zone              `json:"zones,omitempty"`
	Stations   []Station           `json:"stations,omitempty"`
	People     []Person            `json:"people"`
	RouteNames []string            `json:"routes"` // files beside the story, in routes/
	Routes     []*workflowv1.Route `json:"-"`
	Products   []Product           `json:"products"`
	Steps      []Step              `json:"steps"`

	moved time.Duration // by which the story's instants are later than written
	until time.Time     // what comes later is left away; zero: nothing
}

// Person is somebody with what an hour of theirs costs and from which day, and with what
// else is said of them, as people write it: spray:3, mon-fri 08:00-16:30, 12:00-12:30,
// 2026-12-24..2026-12-26=home.
type Person struct {
	Name     string   `json:"name"`
	Skills   []string `json:"skills"`
	Works    []string `json:"works,omitempty"`
	Breaks   []string `json:"breaks,omitempty"`
	Off      []string `json:"off,omitempty"`
	Stations []string `json:"stations,omitempty"` // words
	From     string   `json:"from,omitempty"`
	To       string   `json:"to,omitempty"`
	Rates    []Rate   `json:"rates"`
}

// Rate is an amount per hour from a day on.
type Rate struct {
	From    string `json:"from"`
	PerHour string `json:"per_hour"`
}

// Product is a material with the sizes it is sold in.
type Product struct {
	Name      string    `json:"name"`
	Unit      string    `json:"unit"`
	Packages  []Package `json:"packages"`
	Threshold *Quantity `json:"restock_below"`
	Sheet     *Sheet    `json:"sheet"` // of a coating
}

// Package is a size that a product is sold in.
type Package struct {
	Label   string   `json:"label"`
	Content Quantity `json:"content"`
}

// Quantity is an exact amount of a unit.
type Quantity struct {
	Value string `json:"value"`
	Unit  string `json:"unit"`
}

// Step is one thing that happens; exactly one field beside At is set. A piece is named by
// its tag, a person and a product by name, a stage by its title.
type Step struct {
	At         string       `json:"at"`
	TakeIn     *TakeIn      `json:"take_in,omitempty"`
	LeadTest   *LeadTest    `json:"lead_test,omitempty"`
	Plan       *Plan        `json:"plan,omitempty"`
	Learn      *Learn       `json:"learn,omitempty"`
	Assign     *Assign      `json:"assign,omitempty"`
	Work       *Work        `json:"work,omitempty"`
	Finish     *StageRef    `json:"finish,omitempty"`
	SendBack   *SendBack    `json:"send_back,omitempty"`
	Correct    *Correct     `json:"correct,omitempty"`
	Receive    *Receive     `json:"receive,omitempty"`
	Issue      *Issue       `json:"issue,omitempty"`
	TakeBack   *TakeBack    `json:"take_back,omitempty"`
	List       *Listing     `json:"list,omitempty"`
	Reprice    *Listing     `json:"reprice,omitempty"`
	Sell       *Sale        `json:"sell,omitempty"`
	Refund     *Refund      `json:"refund,omitempty"`
	Scrap      *Scrap       `json:"scrap,omitempty"`
	Zone       *Zone        `json:"zone,omitempty"`
	Air        *Air         `json:"air,omitempty"`
	FinishPlan *FinishPlan  `json:"finish_plan,omitempty"`
	Again      *AnotherCoat `json:"again,omitempty"`
	Felt       *Felt        `json:"felt,omitempty"`
	Move       *Move        `json:"move,omitempty"`
	HandOver   *HandOver    `json:"hand_over,omitempty"`
	Claim      *Claim       `json:"claim,omitempty"`
	Promise    *Promise     `json:"promise,omitempty"`
	Switch     *Work        `json:"switch,omitempty"`
	Pause      *Pause       `json:"pause,omitempty"`
	Batch      *Batch       `json:"batch,omitempty"`
	Inspect    *Inspect     `json:"inspect,omitempty"`
	SendOut    *SendOut     `json:"send_out,omitempty"`
	Chase      *Chase       `json:"chase,omitempty"`
	Bill       *Bill        `json:"bill,omitempty"`
	Back       *Back        `json:"back,omitempty"`
	Send       *Sent        `json:"send,omitempty"`
	Settle     *Settle      `json:"settle,omitempty"`
	LockWeek   *LockWeek    `json:"lock_week,omitempty"`
	By         string       `json:"by,omitempty"` // who gives the command; empty: the shop's owner
	when       time.Time
}

// Read reads a story and the routes it names from a folder. An unknown field, or a time
// that is none, is an error that says where.
func Read(folder fs.FS, name string) (*Scenario, error) {
	s := &Scenario{}
	if err := readJSON(folder, name, s); err != nil {
		return nil, err
	}
	terms, err := client.NewTerms(s.Currency, s.Zone)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	for i := range s.Steps {
		if s.Steps[i].when, err = s.parse(s.Steps[i].At, terms.Zone); err != nil {
			return nil, fmt.Errorf("%s: step %d: %w", name, i+1, err)
		}
	}
	for _, route := range s.RouteNames {
		routes, err := ReadRoutes(folder, "routes/"+route+".json")
		if err != nil {
			return nil, err
		}
		s.Routes = append(s.Routes, routes...)
	}
	return s, nil
}

func readJSON(folder fs.FS, name string, into any) error {
	b, err := fs.ReadFile(folder, name)
	if err != nil {
		return err
	}
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

// parse reads a time of the story; one that is no instant by the shop's clock is an error.
func (s *Scenario) parse(local string, zone *time.Location) (time.Time, error) {
	t, err := wallclock.Read(local, zone)
	return t.Add(s.moved), err
}

// AsOf moves the story so that a local moment of it is now, and leaves away what comes after: a shop in
// the middle of its work. Stations are open at any hour, for it is played at another time of day than it was written for.
func (s *Scenario) AsOf(moment string, now time.Time) error {
	terms, err := client.NewTerms(s.Currency, s.Zone)
	if err != nil {
		return err
	}
	at, err := wallclock.Read(moment, terms.Zone)
	if err != nil {
		return err
	}
	s.moved, s.until = now.Sub(at).Truncate(time.Second), now
	for i := range s.Stations {
		s.Stations[i].Open = nil
	}
	for i := range s.Steps {
		s.Steps[i].when = s.Steps[i].when.Add(s.moved)
		if err := s.Steps[i].moveDays(int(s.moved.Round(24*time.Hour) / (24 * time.Hour))); err != nil {
			return err
		}
	}
	return nil
}

// Halfway is AsOf the story's middle step.
func (s *Scenario) Halfway(now time.Time) error {
	if len(s.Steps) == 0 {
		return nil
	}
	inOrder := slices.SortedFunc(slices.Values(s.Steps), func(a, b Step) int { return a.when.Compare(b.when) })
	return s.AsOf(inOrder[len(inOrder)/2].At, now)
}

// moveDays moves the days that a step names.
func (s *Step) moveDays(days int) error {
	for _, day := range s.days() {
		at, err := time.Parse(time.DateOnly, *day)
		if err != nil {
			return fmt.Errorf("%s: %w", s.At, err)
		}
		*day = at.AddDate(0, 0, days).Format(time.DateOnly)
	}
	return nil
}

// days are those that were written into it.
func (s *Step) days() (all []*string) {
	if s.SendOut != nil {
		all = append(all, &s.SendOut.Due)
	}
	if s.Chase != nil && s.Chase.Due != "" {
		all = append(all, &s.Chase.Due)
	}
	return all
}

// command is one call to the shop.
type command struct {
	at   time.Time
	by   string
	text string
	run  func(*player) error
}

// byTime orders commands; those of one instant keep the order they are written in.
func byTime(commands []command, until time.Time) []command {
	if !until.IsZero() {
		commands = slices.DeleteFunc(commands, func(c command) bool { return c.at.After(until) })
	}
	slices.SortStableFunc(commands, func(a, b command) int { return a.at.Compare(b.at) })
	return commands
}
