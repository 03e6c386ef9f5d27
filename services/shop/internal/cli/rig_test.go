package cli

import (
	"bytes"
	"context"
	"log/slog"
	"net"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"

	"tackfree/pkg/fault"
	"tackfree/pkg/grpcx"
	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// fake is a shop that says what a test put into it and notes the commands it gets. Its
// answers pass real interceptors, so requests must keep the contracts.
type fake struct {
	intakev1.UnimplementedIntakeServiceServer
	workflowv1.UnimplementedPeopleServiceServer
	workflowv1.UnimplementedRouteServiceServer
	workflowv1.UnimplementedStageServiceServer
	workflowv1.UnimplementedClockServiceServer
	workflowv1.UnimplementedPartTestServiceServer
	workflowv1.UnimplementedClimateServiceServer
	workflowv1.UnimplementedFinishServiceServer
	workflowv1.UnimplementedStationServiceServer
	workflowv1.UnimplementedClockReviewServiceServer
	workflowv1.UnimplementedInspectionServiceServer
	workflowv1.UnimplementedOutsideWorkServiceServer
	workflowv1.UnimplementedBatchServiceServer
	workflowv1.UnimplementedPlanningServiceServer
	workflowv1.UnimplementedSwapServiceServer
	workflowv1.UnimplementedComebackServiceServer
	workflowv1.UnimplementedFloorServiceServer
	materialsv1.UnimplementedMaterialsServiceServer
	salesv1.UnimplementedSalesServiceServer
	costingv1.UnimplementedCostingServiceServer
	costingv1.UnimplementedBooksServiceServer
	costingv1.UnimplementedPayrollServiceServer
	costingv1.UnimplementedAnswerServiceServer

	currency, zone string
	pieces         []*intakev1.Piece
	people         []*workflowv1.Person
	routes         []*workflowv1.Route
	stages         []*workflowv1.Stage
	entries        []*workflowv1.ClockEntry
	products       []*materialsv1.Product
	issues         []*materialsv1.Issue
	plan           *workflowv1.FinishPlan
	drying         []*workflowv1.DryClock
	zones          []*workflowv1.ClimateZone
	stations       []*workflowv1.Station
	batches        []*workflowv1.Batch
	outside        []*workflowv1.OutsideWork
	reviews        []*workflowv1.ClockReview
	inspections    []*workflowv1.Inspection
	next           []*workflowv1.NextStage
	told           []*workflowv1.WatchFloorResponse
	live           *live            // of a watch that goes on; nil: it tells told and ends
	breaks         map[string]error // of a watch, once, after the position is told
	asks           []proto.Message  // what lists were asked for
	listings       []*salesv1.Listing
	costs          []*costingv1.PieceCost
	proof          *costingv1.VerifyResponse
	books          *costingv1.GetShopCostResponse
	progress       *costingv1.GetProgressResponse
	answers        answers
	broken         bool   // a search for a plan ends before it is done
	fails          error  // instead of an answer to any command
	lost           error  // instead of the answer to a command that is done
	after          func() // runs when a command is done and before it is answered

	shelf   *shelf
	joint   *joint
	desk    *desk
	wages   *wages
	buyer   *buyer
	counter *counter

	market *market
	till   *till

	gallery *gallery
	door    *door

	address string
	without []string // services that nobody says where to find

	mu      sync.Mutex
	got     []proto.Message // commands
	done    []string        // the request ids under which something was done
	asked   int             // how often for the terms
	conns   []net.Conn
	notices []string // of a clock-on
}

// newFake serves a shop in Chicago with a dresser, its stages, Nell and a can of clear coat.
func newFake(t *testing.T) *fake {
	t.Helper()
	f := &fake{currency: "USD", zone: "America/Chicago",
		pieces: []*intakev1.Piece{{Name: "pieces/a", Tag: 1, Title: "Pine dresser", Kind: "dresser", State: intakev1.Piece_STATE_IN_HAND,
			Origin: &intakev1.Piece_Purchase{Purchase: &intakev1.Purchase{Price: usd(40_00), Source: "church sale"}},
			Parts:  []*intakev1.Part{{Name: "pieces/a/parts/c", Label: "case", Count: 1}, {Name: "pieces/a/parts/d", Label: "drawers", Count: 4}}}},
		people: []*workflowv1.Person{{Name: "people/n", DisplayName: "Nell", Skills: []string{"sand"}}},
		stages: []*workflowv1.Stage{{Name: "pieces/a/stages/1", Key: "hardware-off", Kind: "hardware_off", Pass: 1},
			{Name: "pieces/a/stages/2", Key: "sand", Kind: "sand", PartLabel: "case", Pass: 1},
			{Name: "pieces/a/stages/3", Key: "sand", Kind: "sand", PartLabel: "drawers", Pass: 1}},
		products: []*materialsv1.Product{{Name: "products/k", DisplayName: "Clear coat", Unit: "L"}},
	}
	f.shelf = &shelf{f: f}
	f.joint = &joint{f: f}
	f.desk = &desk{f: f}
	f.wages = &wages{f: f}
	f.buyer = &buyer{f: f}
	f.counter = newCounter(f)
	f.market, f.till = &market{f: f}, &till{f: f}
	f.gallery = &gallery{f: f}
	f.door = &door{f: f}
	f.serve(t)
	return f
}

func (f *fake) serve(t *testing.T) {
	t.Helper()
	s, err := grpcx.NewServer(slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	intakev1.RegisterIntakeServiceServer(s, f)
	workflowv1.RegisterPeopleServiceServer(s, f)
	workflowv1.RegisterRouteServiceServer(s, f)
	workflowv1.RegisterStageServiceServer(s, f)
	workflowv1.RegisterClockServiceServer(s, f)
	workflowv1.RegisterPartTestServiceServer(s, f)
	workflowv1.RegisterClimateServiceServer(s, f)
	workflowv1.RegisterFinishServiceServer(s, f)
	workflowv1.RegisterStationServiceServer(s, f)
	workflowv1.RegisterClockReviewServiceServer(s, f)
	workflowv1.RegisterInspectionServiceServer(s, f)
	workflowv1.RegisterOutsideWorkServiceServer(s, f)
	workflowv1.RegisterBatchServiceServer(s, f)
	workflowv1.RegisterPlanningServiceServer(s, f)
	workflowv1.RegisterSwapServiceServer(s, f)
	workflowv1.RegisterComebackServiceServer(s, f)
	workflowv1.RegisterFloorServiceServer(s, f)
	materialsv1.RegisterMaterialsServiceServer(s, f)
	f.shelf.register(s)
	f.joint.register(s)
	f.desk.register(s)
	f.wages.register(s)
	f.buyer.register(s)
	f.counter.register(s)
	f.market.register(s)
	f.till.register(s)
	f.gallery.register(s)
	(&assessor{f: f}).register(s)
	f.door.register(s)
	salesv1.RegisterSalesServiceServer(s, f)
	costingv1.RegisterCostingServiceServer(s, f)
	costingv1.RegisterBooksServiceServer(s, f)
	costingv1.RegisterPayrollServiceServer(s, f)
	costingv1.RegisterAnswerServiceServer(s, f)
	f.address = filepath.Join(t.TempDir(), "s")
	l, err := new(net.ListenConfig).Listen(t.Context(), "unix", f.address)
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	var done sync.WaitGroup
	done.Go(func() { _ = s.Serve(ctx, noted{l, f}) })
	t.Cleanup(func() {
		stop()
		done.Wait()
	})
}

// run gives a command and returns the exit code and what it prints.
func (f *fake) run(t *testing.T, args ...string) (code int, out, errs string) {
	t.Helper()
	for _, name := range client.Names {
		if !slices.Contains(f.without, name) {
			args = append(args, "--"+name+"-addr=unix:"+f.address)
		}
	}
	return run(t, append(args, "--as=Odile")...)
}

// run runs the command line.
func run(t *testing.T, args ...string) (code int, out, errs string) {
	t.Helper()
	var o, e bytes.Buffer
	code = Run(t.Context(), args, &o, &e)
	return code, o.String(), e.String()
}

var blanks = regexp.MustCompile(` +`)

// says checks that a command succeeds and prints all of these, as they stand or with each
// run of blanks as one.
func (f *fake) says(t *testing.T, args []string, wants ...string) string {
	t.Helper()
	code, out, errs := f.run(t, args...)
	if code != 0 || errs != "" {
		t.Errorf("shop %s exits %d: %s", strings.Join(args, " "), code, errs)
	}
	for _, want := range wants {
		if !strings.Contains(out, want) && !strings.Contains(blanks.ReplaceAllString(out, " "), want) {
			t.Errorf("shop %s prints:\n%s\nwhich does not say %q", strings.Join(args, " "), out, want)
		}
	}
	return out
}

// refuses checks that a command fails with a sentence, and that the shop got no command.
func (f *fake) refuses(t *testing.T, args []string, want string) {
	t.Helper()
	before := len(f.commands())
	code, out, errs := f.run(t, args...)
	if code == 0 || out != "" || !strings.Contains(errs, want) {
		t.Errorf("shop %s exits %d and prints %q and %q, want a refusal that says %q", strings.Join(args, " "), code, out, errs, want)
	}
	if len(f.commands()) != before {
		t.Errorf("shop %s is refused but gives the command %v", strings.Join(args, " "), f.commands()[before:])
	}
}

// gives checks the one command that comes of a line, but for its request id.
func (f *fake) gives(t *testing.T, args []string, want proto.Message) {
	t.Helper()
	before := len(f.commands())
	if code, _, errs := f.run(t, args...); code != 0 {
		t.Errorf("shop %s exits %d: %s", strings.Join(args, " "), code, errs)
		return
	}
	if len(f.commands()) != before+1 {
		t.Errorf("shop %s gives %d commands, want 1", strings.Join(args, " "), len(f.commands())-before)
		return
	}
	ignore := cmp.Options{}
	if want.ProtoReflect().Descriptor().Fields().ByName("request_id") != nil {
		ignore = append(ignore, protocmp.IgnoreFields(want, "request_id"))
	}
	if diff := cmp.Diff(want, f.commands()[before], protocmp.Transform(), ignore); diff != "" {
		t.Errorf("shop %s gives (-want +got):\n%s", strings.Join(args, " "), diff)
	}
}

// line splits a command line at its blanks; quoted words keep theirs.
func line(text string) (args []string) {
	for i, part := range strings.Split(text, "'") {
		if i%2 == 1 {
			args = append(args, part)
			continue
		}
		args = append(args, strings.Fields(part)...)
	}
	return args
}

// note keeps a command, does it unless it has been done, and answers it, unless the test
// has it fail.
func note[M proto.Message](f *fake, r interface {
	proto.Message
	GetRequestId() string
}, answer M) (M, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.got = append(f.got, r)
	if f.fails != nil {
		return answer, f.fails
	}
	if !slices.Contains(f.done, r.GetRequestId()) {
		f.done = append(f.done, r.GetRequestId())
	}
	if f.after != nil {
		f.after()
	}
	return answer, f.lost
}

// commands are those that the shop got. One may still run whose connection was dropped.
func (f *fake) commands() []proto.Message {
	f.mu.Lock()
	defer f.mu.Unlock()
	return slices.Clone(f.got)
}

func (f *fake) lastCommand() proto.Message { all := f.commands(); return all[len(all)-1] }

// doings are the request ids under which something was done.
func (f *fake) doings() []string {
	f.mu.Lock()
	defer f.mu.Unlock()
	return slices.Clone(f.done)
}

// noted notes the connections to the fake, so that a test can drop them.
type noted struct {
	net.Listener
	f *fake
}

// Accept implements net.Listener.
func (n noted) Accept() (net.Conn, error) {
	c, err := n.Listener.Accept()
	if err == nil {
		n.f.mu.Lock()
		defer n.f.mu.Unlock()
		n.f.conns = append(n.f.conns, c)
	}
	return c, err
}

// hangUp drops all connections.
func (f *fake) hangUp() {
	for _, c := range f.conns {
		_ = c.Close()
	}
}

var errNoPiece = fault.New(fault.NotFound, "PIECE_NOT_FOUND", "There is no such piece.")
