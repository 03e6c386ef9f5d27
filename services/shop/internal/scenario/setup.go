package scenario

import (
	"fmt"

	moneyv1 "google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/fieldmaskpb"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	typev1 "tackfree/proto/tackfree/type/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// addPerson adds somebody and says what their hours cost.
func (p *player) addPerson(person Person) command {
	return command{by: p.owner(), text: fmt.Sprintf("%s joins the shop", person.Name), run: func(p *player) error {
		ask, err := person.request()
		if err != nil {
			return err
		}
		r, err := p.shop.People.AddPerson(p.ctx, ask)
		if err != nil {
			return err
		}
		p.people[person.Name] = r.Person
		for _, rate := range person.Rates {
			if err := p.setRate(r.Person.Name, rate); err != nil {
				return err
			}
		}
		return nil
	}}
}

// request reads what is said of somebody.
func (person Person) request() (r *workflowv1.AddPersonRequest, err error) {
	r = &workflowv1.AddPersonRequest{RequestId: newRequest(), DisplayName: person.Name}
	r.Skills, r.Levels = client.Skills(person.Skills)
	if r.WorkingDays, err = client.WorkingDays(person.Works, person.Breaks); err != nil {
		return nil, err
	}
	if r.DaysOff, err = client.DaysOff(person.Off); err != nil {
		return nil, err
	}
	if r.ActiveFrom, err = client.Day(person.From); err != nil {
		return nil, err
	}
	for _, word := range person.Stations {
		r.Stations = append(r.Stations, stationName(word))
	}
	r.ActiveTo, err = client.Day(person.To)
	return r, err
}

// learn adds a skill to those a person has.
func learn(s *Learn) (string, run) {
	return fmt.Sprintf("%s has learned to %s", s.Who, s.Skill), func(p *player) error {
		if _, err := p.person(s.Who); err != nil {
			return err
		}
		change := proto.CloneOf(p.people[s.Who])
		skills, levels := client.Skills([]string{s.Skill})
		change.Skills, change.Levels = append(change.Skills, skills...), append(change.Levels, levels...)
		resp, err := p.shop.People.UpdatePerson(p.ctx, &workflowv1.UpdatePersonRequest{
			RequestId: newRequest(), Person: change, UpdateMask: &fieldmaskpb.FieldMask{Paths: []string{"skills"}}})
		if err != nil {
			return err
		}
		p.people[s.Who] = resp.Person
		return nil
	}
}

func (p *player) setRate(person string, rate Rate) error {
	perHour, err := p.money(rate.PerHour)
	if err != nil {
		return err
	}
	day, err := client.Day(rate.From)
	if err != nil {
		return err
	}
	_, err = p.shop.Rates.SetPayRate(p.ctx, &costingv1.SetPayRateRequest{RequestId: newRequest(), Person: person, PerHour: perHour, EffectiveDate: day})
	return err
}

func (p *player) saveRoute(r *workflowv1.Route) command {
	return command{by: p.owner(), text: fmt.Sprintf("the route %s is written down", Word(r)), run: func(p *player) error {
		_, err := p.shop.Routes.SaveRoute(p.ctx, &workflowv1.SaveRouteRequest{RequestId: newRequest(), Route: r})
		return err
	}}
}

func (p *player) addProduct(product Product) command {
	return command{by: p.owner(), text: fmt.Sprintf("%s gets a place on the shelf", product.Name), run: func(p *player) error {
		r := &materialsv1.AddProductRequest{RequestId: newRequest(), DisplayName: product.Name, Unit: product.Unit, RestockThreshold: product.Threshold.message()}
		for _, pack := range product.Packages {
			r.Packages = append(r.Packages, &materialsv1.Package{Label: pack.Label, Content: pack.Content.message()})
		}
		resp, err := p.shop.Materials.AddProduct(p.ctx, r)
		if err != nil {
			return err
		}
		p.products[product.Name] = resp.Product.Name
		return p.setSheet(resp.Product.Name, product.Sheet)
	}}
}

// message writes a quantity; none stays none.
func (q *Quantity) message() *typev1.Quantity {
	if q == nil {
		return nil
	}
	return &typev1.Quantity{Value: q.Value, Unit: q.Unit}
}

// money reads an amount; an empty one stays absent.
func (p *player) money(amount string) (*moneyv1.Money, error) { return p.terms.Amount(amount) }
