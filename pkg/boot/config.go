package boot

import (
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/alecthomas/kong"

	"tackfree/pkg/access"
	"tackfree/pkg/money"
	"tackfree/pkg/wire"
)

// Config is how any service is set up; every value has a flag and an environment name.
type Config struct {
	Listen          string `help:"Address to serve gRPC on, host:port or unix:/path; port 0 takes a free one." default:"127.0.0.1:${port}" env:"TACKFREE_LISTEN"`
	DatabaseURL     string `help:"Postgres URL of this service's role." env:"DATABASE_URL"`
	DatabaseURLFile string `help:"File that holds the Postgres URL, so that no secret is in the environment." env:"DATABASE_URL_FILE" type:"path"`
	BrokerURL       string `help:"NATS URL; JetStream must be on." default:"nats://127.0.0.1:4222" env:"TACKFREE_BROKER_URL"`
	Currency        string `help:"ISO 4217 code of the one currency the books are kept in." default:"USD" env:"TACKFREE_CURRENCY"`
	Zone            string `help:"IANA time zone of the shop, for days and weeks." default:"UTC" env:"TACKFREE_ZONE"`

	IntakeAddr    string `help:"Where intake serves." default:"127.0.0.1:7411" env:"TACKFREE_INTAKE_ADDR"`
	WorkflowAddr  string `help:"Where workflow serves." default:"127.0.0.1:7412" env:"TACKFREE_WORKFLOW_ADDR"`
	MaterialsAddr string `help:"Where materials serves." default:"127.0.0.1:7413" env:"TACKFREE_MATERIALS_ADDR"`
	SalesAddr     string `help:"Where sales serves." default:"127.0.0.1:7414" env:"TACKFREE_SALES_ADDR"`

	AccessKeyFile string `help:"File with the key that access tokens are signed and checked with, the same for all services; without it whoever reaches the service may do anything." env:"TACKFREE_ACCESS_KEY_FILE" type:"path"`

	LogLevel string `help:"debug, info, warn or error." default:"info" enum:"debug,info,warn,error" env:"TACKFREE_LOG_LEVEL"`

	// Reconcile is how often a consumer compares itself with the producers.
	Reconcile time.Duration `help:"How often consumers compare themselves with the producers." default:"30s" env:"TACKFREE_RECONCILE"`
	// ShiftEnd is how often workflow looks for clocks that run past their shift; 0 is each minute.
	ShiftEnd time.Duration `help:"How often workflow looks for clocks that run past their shift." default:"1m" env:"TACKFREE_SHIFT_END"`
	// Alerts is how often materials looks at all alerts anew, beside those that something changed
	// for; 0 is each half minute, below 0 it never looks at any.
	Alerts time.Duration `help:"How often materials looks at all alerts anew." default:"30s" env:"TACKFREE_ALERTS"`
	// PhotosURL is intake's.
	PhotosURL string `help:"Where intake keeps the files of photos: file:///FOLDER, which is made, or a bucket of a kind whose driver is compiled in; without it photos are refused." env:"TACKFREE_PHOTOS_URL" placeholder:"URL"`
	// AccountRules are costing's.
	AccountRules RulesFile `help:"File with the shop's own accounts and account rules; without it, or with the word program, those that come with it, which shop cost accounts prints." env:"TACKFREE_ACCOUNT_RULES" placeholder:"FILE"`
}

// ProgramRules is said instead of a file: the account rules that come with the program.
const ProgramRules = "program"

// RulesFile is a file of account rules, or ProgramRules; empty: nobody said.
type RulesFile string

// Decode implements kong.MapperValue. Whether the file is there is costing's to find out: services are
// often given the same environment.
func (r *RulesFile) Decode(ctx *kong.DecodeContext) error {
	var typed string
	if err := ctx.Scan.PopValueInto("file", &typed); err != nil {
		return err
	}
	*r = RulesFile(typed)
	if typed != "" && typed != ProgramRules {
		*r = RulesFile(kong.ExpandPath(typed))
	}
	return nil
}

// ports are where the services serve when nothing else is said; the others look for them
// there.
var ports = map[string]string{"intake": "7411", "workflow": "7412", "materials": "7413", "sales": "7414", "costing": "7415"}

// vars are what differs from service to service in Config's tags.
func vars(service string) kong.Vars { return kong.Vars{"port": ports[service]} }

// databaseURL gives the URL, read from its file when it is in one.
func (c Config) databaseURL() (string, error) {
	if c.DatabaseURLFile == "" {
		if c.DatabaseURL == "" {
			return "", fmt.Errorf("no database: set --database-url or --database-url-file")
		}
		return c.DatabaseURL, nil
	}
	b, err := os.ReadFile(c.DatabaseURLFile)
	if err != nil {
		return "", fmt.Errorf("database URL: %w", err)
	}
	return strings.TrimSpace(string(b)), nil
}

// addr gives where a service serves.
func (c Config) addr(service string) string {
	return map[string]string{
		"intake": c.IntakeAddr, "workflow": c.WorkflowAddr, "materials": c.MaterialsAddr, "sales": c.SalesAddr,
	}[service]
}

// shop reads currency and zone; now is the service's clock.
func (c Config) shop(now func() time.Time) (wire.Shop, error) {
	currency, err := money.CurrencyOf(c.Currency)
	if err != nil {
		return wire.Shop{}, err
	}
	zone, err := time.LoadLocation(c.Zone)
	if err != nil || c.Zone == "" || c.Zone == "Local" {
		return wire.Shop{}, fmt.Errorf("%q is not an IANA time zone, such as Europe/Madrid", c.Zone)
	}
	return wire.Shop{Currency: currency, Zone: zone, Now: now}, nil
}

// accessKey reads the key of access tokens; nil without a file.
func (c Config) accessKey() (*access.Key, error) {
	if c.AccessKeyFile == "" {
		return nil, nil
	}
	return access.Load(c.AccessKeyFile)
}
