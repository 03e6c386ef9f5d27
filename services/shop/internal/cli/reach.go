package cli

import (
	"errors"

	"github.com/alecthomas/kong"

	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/suite"
)

// folder is a path that a person typed; an empty one is none, and not the folder they are in.
type folder string

// Decode implements kong.MapperValue.
func (f *folder) Decode(ctx *kong.DecodeContext) error {
	var path string
	if err := ctx.Scan.PopValueInto("folder", &path); err != nil {
		return err
	}
	if path != "" {
		path = kong.ExpandPath(path)
	}
	*f = folder(path)
	return nil
}

// reach says where the shop runs that commands go to.
type reach struct {
	Shop          folder `help:"Folder of the running shop; without it, the only one that runs here." env:"TACKFREE_SHOP" placeholder:"DIR"`
	IntakeAddr    string `help:"Where intake serves: host:port or unix:/path." env:"TACKFREE_INTAKE_ADDR" placeholder:"ADDRESS" group:"Services that run by themselves"`
	WorkflowAddr  string `help:"Where workflow serves." env:"TACKFREE_WORKFLOW_ADDR" placeholder:"ADDRESS" group:"Services that run by themselves"`
	MaterialsAddr string `help:"Where materials serves." env:"TACKFREE_MATERIALS_ADDR" placeholder:"ADDRESS" group:"Services that run by themselves"`
	SalesAddr     string `help:"Where sales serves." env:"TACKFREE_SALES_ADDR" placeholder:"ADDRESS" group:"Services that run by themselves"`
	Token         string `help:"Secret of a token, as shop token add shows it once: who gives the commands is then the program that it is for." env:"TACKFREE_TOKEN" placeholder:"SECRET"`
	AccessKeyFile folder `help:"File with the key of the services' access tokens, for whoever keeps them: with it everything may be done." env:"TACKFREE_ACCESS_KEY_FILE" placeholder:"FILE" group:"Services that run by themselves"`
	CostingAddr   string `help:"Where costing serves." env:"TACKFREE_COSTING_ADDR" placeholder:"ADDRESS" group:"Services that run by themselves"`
}

// targets finds the services.
func (r reach) targets() (map[string]string, error) {
	given := map[string]string{"intake": r.IntakeAddr, "workflow": r.WorkflowAddr, "materials": r.MaterialsAddr,
		"sales": r.SalesAddr, "costing": r.CostingAddr}
	alone := false
	for _, address := range given {
		alone = alone || address != ""
	}
	switch {
	case alone && r.Shop != "":
		return nil, errors.New("say where the shop is by --shop (or TACKFREE_SHOP) or by its services' addresses, not by both")
	case alone:
		return given, nil
	}
	n, err := suite.Find(string(r.Shop))
	return n.Addresses, err
}

// dial makes clients of the services, which bring with each call what was given for it.
func (r reach) dial(targets map[string]string) (*client.Shop, error) {
	switch {
	case r.Token != "":
		return client.DialWithSecret(targets, r.Token)
	case r.AccessKeyFile != "" && r.Shop == "":
		return client.DialWithKey(targets, string(r.AccessKeyFile))
	}
	return client.Dial(targets)
}

// with runs fn with clients of the running shop.
func (e *env) with(fn func(*client.Shop) error) (err error) {
	targets, err := e.reach.targets()
	if err != nil {
		return err
	}
	shop, err := e.reach.dial(targets)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, shop.Close()) }()
	return fn(shop)
}
