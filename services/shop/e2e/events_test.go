package e2e_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/caller"
	"tackfree/pkg/id"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/suite"
)

var update = flag.Bool("update", false, "write testdata/events anew from the demo's story")

const eventFolder = "../../../testdata/events"

// Events are kept for good, so what was once written must be read for ever: of each kind
// there is one as bytes and one as text, and a second of those that say more since, and they must
// go on meaning the same.
func TestEvents_OldOnesAreStillRead(t *testing.T) {
	if *update {
		writeEvents(t)
	}
	for _, kind := range kept(t) {
		t.Run(kind, func(t *testing.T) {
			encoded, err := os.ReadFile(filepath.Join(eventFolder, kind+".pb"))
			if err != nil {
				t.Fatal(err)
			}
			got := &eventsv1.Envelope{}
			if err := proto.Unmarshal(encoded, got); err != nil {
				t.Fatal(err)
			}
			text, err := os.ReadFile(filepath.Join(eventFolder, kind+".json"))
			if err != nil {
				t.Fatal(err)
			}
			want := &eventsv1.Envelope{}
			if err := protojson.Unmarshal(text, want); err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(want, got, protocmp.Transform()); diff != "" {
				t.Errorf("the bytes no longer mean what they did (-text +bytes):\n%s", diff)
			}
			if len(got.ProtoReflect().GetUnknown()) > 0 {
				t.Error("the bytes hold a field that nobody knows")
			}
		})
	}
}

// kept names the events that are kept: each kind, and those beside it.
func kept(t *testing.T) (out []string) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(eventFolder, "*.pb"))
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		out = append(out, strings.TrimSuffix(filepath.Base(file), ".pb"))
	}
	for _, kind := range kinds() {
		if !slices.Contains(out, kind) {
			t.Errorf("no %s is kept", kind)
		}
	}
	return out
}

// Each kind of event has one producer, the one its name is kept under in the contract.
func TestEvents_EachHasOneProducer(t *testing.T) {
	producers := map[string]string{}
	for _, kind := range kinds() {
		text, err := os.ReadFile(filepath.Join(eventFolder, kind+".json"))
		if err != nil {
			t.Fatal(err)
		}
		e := &eventsv1.Envelope{}
		if err := protojson.Unmarshal(text, e); err != nil {
			t.Fatal(err)
		}
		producers[kind] = e.Producer
	}
	fields := payloads()
	for i := range fields.Len() {
		file := fields.Get(i).Message().ParentFile().Path()
		if want := strings.TrimSuffix(filepath.Base(file), ".proto"); producers[string(fields.Get(i).Name())] != want {
			t.Errorf("%s is published by %q, but is in the contract of %s", fields.Get(i).Name(), producers[string(fields.Get(i).Name())], want)
		}
	}
}

func payloads() protoreflect.FieldDescriptors {
	return (&eventsv1.Envelope{}).ProtoReflect().Descriptor().Oneofs().ByName("payload").Fields()
}

func kinds() (out []string) {
	fields := payloads()
	for i := range fields.Len() {
		out = append(out, string(fields.Get(i).Name()))
	}
	return out
}

// writeEvents plays the demo's story and its week, and keeps the first event of each kind that
// has none.
func writeEvents(t *testing.T) {
	t.Helper()
	story, week := open(t, nil), open(t, func(o *suite.Options) { o.ShiftEnd = time.Second })
	play(t, story.Shop, func(int, int) {})
	playWeek(t, week.Shop)
	leavesBatch(t, week.Shop)
	pinsStage(t, week.Shop)
	plansDay(t, week.Shop)
	swapsStage(t, week.Shop)
	leavesFloor(t, week.Shop)
	comesBack(t, story.Shop)
	catalogues(t, story.Shop)
	photographs(t, story.Shop)
	assesses(t, story.Shop)
	prospects(t, story.Shop)
	commissions(t, story.Shop)
	keeps(t, story.Shop)
	pays(t, story.Shop)
	h := stockhand(t, story.Shop)
	h.stocks()
	h.orders()
	h.equips()
	h.confirms()
	empty := open(t, nil)
	stockhand(t, empty.Shop).averages()
	stockhand(t, empty.Shop).joins()
	if err := os.MkdirAll(eventFolder, 0o755); err != nil {
		t.Fatal(err)
	}
	marked, counter, piece := markedDown(t)
	counter.withdraws(piece)
	for kind, e := range firsts(t, story.Shop, week.Shop, empty.Shop, marked.Shop) {
		if _, err := os.Stat(filepath.Join(eventFolder, kind+".pb")); err != nil {
			writeEvent(t, kind, e)
		}
	}
}

// leavesBatch runs two stages of a kind as one, and takes one of them out again.
func leavesBatch(t *testing.T, shop *client.Shop) {
	t.Helper()
	ctx := caller.With(t.Context(), caller.Caller{Actor: "Lead"})
	board, err := shop.Floor.ListBoard(ctx, &workflowv1.ListBoardRequest{PageSize: 1000})
	if err != nil {
		t.Fatal(err)
	}
	byKind := map[string][]string{}
	for _, line := range board.Lines {
		for _, next := range line.Next {
			if byKind[next.Kind] = append(byKind[next.Kind], next.Stage); len(byKind[next.Kind]) < 2 || next.Batch != "" {
				continue
			}
			r, err := shop.Batches.FormBatch(ctx, &workflowv1.FormBatchRequest{RequestId: id.New().String(), DisplayName: "Two of a kind", Stages: byKind[next.Kind][:2], Split: workflowv1.Batch_SPLIT_EQUAL})
			if err != nil {
				continue
			}
			if _, err := shop.Batches.LeaveBatch(ctx, &workflowv1.LeaveBatchRequest{RequestId: id.New().String(), Stage: r.Batch.Shares[0].Stage}); err != nil {
				t.Fatal(err)
			}
			return
		}
	}
	t.Fatal("no two stages on the board are alike")
}

// pinsStage has the plan keep a stage for a time that is to come, and then no longer.
func pinsStage(t *testing.T, shop *client.Shop) {
	t.Helper()
	ctx := caller.With(t.Context(), caller.Caller{Actor: "Lead"})
	board, err := shop.Floor.ListBoard(ctx, &workflowv1.ListBoardRequest{PageSize: 1000})
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(board.Lines, func(l *workflowv1.BoardLine) bool { return len(l.Next) > 0 })
	stage := board.Lines[i].Next[0].Stage
	_, err = shop.Planning.PinStage(ctx, &workflowv1.PinStageRequest{RequestId: id.New().String(), Stage: stage, StartTime: timestamppb.New(time.Now().Add(time.Hour))})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := shop.Planning.UnpinStage(ctx, &workflowv1.UnpinStageRequest{RequestId: id.New().String(), Stage: stage}); err != nil {
		t.Fatal(err)
	}
}

// leavesFloor sells a piece that is not done, and takes it back.
func leavesFloor(t *testing.T, shop *client.Shop) {
	t.Helper()
	ctx := caller.With(t.Context(), caller.Caller{Actor: "Odile"})
	board, err := shop.Floor.ListBoard(ctx, &workflowv1.ListBoardRequest{PageSize: 1000})
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(board.Lines, func(l *workflowv1.BoardLine) bool { return len(l.Next) > 0 })
	sale := sellAsItIs(ctx, t, shop, board.Lines[i].Piece)
	if _, err := shop.Sales.RefundSale(ctx, &salesv1.RefundSaleRequest{RequestId: id.New().String(), Sale: sale, PieceReturned: true, Reason: "it did not fit through the door"}); err != nil {
		t.Fatal(err)
	}
}

// firsts are the first events of all kinds in some shops. What is told of wet coats comes by
// itself, a moment after the story.
func firsts(t *testing.T, shops ...*client.Shop) map[string]*eventsv1.Envelope {
	t.Helper()
	found := map[string]*eventsv1.Envelope{}
	eventually(t, "an event of each kind", func() bool {
		for _, shop := range shops {
			for _, producer := range client.Producers {
				for _, e := range told(t, shop.Logs[producer]) {
					kind := string(e.ProtoReflect().WhichOneof(e.ProtoReflect().Descriptor().Oneofs().ByName("payload")).Name())
					if found[kind] == nil {
						found[kind] = e
					}
				}
			}
		}
		for _, kind := range kinds() {
			if found[kind] == nil {
				t.Logf("there is no %s yet", kind)
			}
		}
		return len(found) == len(kinds())
	})
	return found
}

// told is a whole log.
func told(t *testing.T, log eventsv1.EventLogServiceClient) (all []*eventsv1.Envelope) {
	t.Helper()
	r := &eventsv1.ListEventsRequest{PageSize: 1000}
	for {
		page, err := log.ListEvents(t.Context(), r)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, page.Events...)
		if r.PageToken = page.NextPageToken; r.PageToken == "" {
			return all
		}
	}
}

func writeEvent(t *testing.T, kind string, e *eventsv1.Envelope) {
	t.Helper()
	encoded, err := proto.MarshalOptions{Deterministic: true}.Marshal(e)
	if err != nil {
		t.Fatal(err)
	}
	text, err := protojson.Marshal(e)
	if err != nil {
		t.Fatal(err)
	}
	var pretty bytes.Buffer
	if err := json.Indent(&pretty, text, "", "  "); err != nil {
		t.Fatal(err)
	}
	pretty.WriteByte('\n')
	for name, content := range map[string][]byte{kind + ".pb": encoded, kind + ".json": pretty.Bytes()} {
		if err := os.WriteFile(filepath.Join(eventFolder, name), content, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
