package gatewaysvc

import (
	"context"
	"log/slog"
	"net"
	"os"
	"os/signal"
	"syscall"
	"time"

	"github.com/alecthomas/kong"
	"google.golang.org/grpc"

	"tackfree/pkg/grpcx"
)

// flags are how the gateway by itself is set up; every value has a flag and an environment name.
type flags struct {
	Listen    string   `help:"Address to serve pages on, host:port." default:"127.0.0.1:7410" env:"TACKFREE_PAGES_LISTEN"`
	Secure    bool     `help:"Pages are reached over TLS, by a proxy before this: cookies are sent over nothing else." env:"TACKFREE_PAGES_SECURE"`
	Origins   []string `help:"Other sites whose scripts may use the JSON interface." env:"TACKFREE_PAGES_ORIGINS"`
	Intake    string   `help:"Where intake serves." name:"intake-addr" default:"127.0.0.1:7411" env:"TACKFREE_INTAKE_ADDR"`
	Workflow  string   `help:"Where workflow serves." name:"workflow-addr" default:"127.0.0.1:7412" env:"TACKFREE_WORKFLOW_ADDR"`
	Materials string   `help:"Where materials serves." name:"materials-addr" default:"127.0.0.1:7413" env:"TACKFREE_MATERIALS_ADDR"`
	Sales     string   `help:"Where sales serves." name:"sales-addr" default:"127.0.0.1:7414" env:"TACKFREE_SALES_ADDR"`
	Costing   string   `help:"Where costing serves." name:"costing-addr" default:"127.0.0.1:7415" env:"TACKFREE_COSTING_ADDR"`
}

// Main is the gateway's whole main. One that cannot start says why on standard error and exits 1.
func Main() {
	var f flags
	kong.Parse(&f, kong.Name(Name), kong.Description("The pages and the JSON interface of a refinishing shop."))
	logger := slog.New(slog.NewJSONHandler(os.Stderr, nil)).With("service", Name)
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGINT, syscall.SIGTERM)
	defer stop()
	if err := alone(ctx, f, logger); err != nil {
		logger.Error("cannot run", "error", err)
		os.Exit(1)
	}
}

func alone(ctx context.Context, f flags, logger *slog.Logger) error {
	l, err := new(net.ListenConfig).Listen(ctx, "tcp", f.Listen)
	if err != nil {
		return err
	}
	where := map[string]string{"intake": f.Intake, "workflow": f.Workflow, "materials": f.Materials, "sales": f.Sales, "costing": f.Costing}
	return Run(ctx, Config{Secure: f.Secure, Origins: f.Origins}, Deps{Logger: logger, Listener: l, Now: time.Now,
		Dial: func(service string) (grpc.ClientConnInterface, error) { return grpcx.Dial(where[service]) }})
}
