package cli

import (
	"errors"
	"fmt"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/suite"
)

// reach says where the shop runs that commands go to.
type reach struct {
	Shop          string `help:"Folder of the running shop; without it, the only one that runs here." env:"TACKFREE_SHOP" type:"path" placeholder:"DIR"`
	IntakeAddr    string `help:"Where intake serves, if the services run by themselves." env:"TACKFREE_INTAKE_ADDR" hidden:""`
	WorkflowAddr  string `help:"Where workflow serves." env:"TACKFREE_WORKFLOW_ADDR" hidden:""`
	MaterialsAddr string `help:"Where materials serves." env:"TACKFREE_MATERIALS_ADDR" hidden:""`
	SalesAddr     string `help:"Where sales serves." env:"TACKFREE_SALES_ADDR" hidden:""`
	CostingAddr   string `help:"Where costing serves." env:"TACKFREE_COSTING_ADDR" hidden:""`
}

// targets finds the services.
func (r reach) targets() (map[string]string, error) {
	if r.IntakeAddr != "" {
		return map[string]string{"intake": r.IntakeAddr, "workflow": r.WorkflowAddr, "materials": r.MaterialsAddr,
			"sales": r.SalesAddr, "costing": r.CostingAddr}, nil
	}
	n, err := suite.Find(r.Shop)
	return n.Addresses, err
}

// with runs fn with clients of the running shop.
func (e *env) with(fn func(*client.Shop) error) (err error) {
	targets, err := e.reach.targets()
	if err != nil {
		return err
	}
	shop, err := client.Dial(targets)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, shop.Close()) }()
	return fn(shop)
}

// output is how a client command prints.
type output struct {
	JSON bool `help:"Print the whole answer as JSON." name:"json"`
}

// print writes the message as JSON, or lets text write it for people.
func (o output) print(e *env, m proto.Message, text func() error) error {
	if !o.JSON {
		return text()
	}
	b, err := protojson.MarshalOptions{Multiline: true, EmitUnpopulated: true}.Marshal(m)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintln(e.out, string(b))
	return err
}
