package client_test

import (
	"context"
	"strings"
	"sync/atomic"
	"testing"

	"google.golang.org/grpc"

	"tackfree/pkg/svctest"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// floor is a made-up shop: terms, people and the stages of every piece.
type floor struct {
	intakev1.UnimplementedIntakeServiceServer
	workflowv1.UnimplementedPeopleServiceServer
	workflowv1.UnimplementedStageServiceServer
	terms  *intakev1.GetShopResponse
	stages []*workflowv1.Stage
	people []string
	asked  atomic.Int32
}

func (f *floor) GetShop(context.Context, *intakev1.GetShopRequest) (*intakev1.GetShopResponse, error) {
	f.asked.Add(1)
	return f.terms, nil
}

func (f *floor) ListStages(context.Context, *workflowv1.ListStagesRequest) (*workflowv1.ListStagesResponse, error) {
	f.asked.Add(1)
	return &workflowv1.ListStagesResponse{Stages: f.stages}, nil
}

func (f *floor) ListPeople(_ context.Context, r *workflowv1.ListPeopleRequest) (*workflowv1.ListPeopleResponse, error) {
	name := f.people[len(r.PageToken)]
	out := &workflowv1.ListPeopleResponse{People: []*workflowv1.Person{{Name: "people/" + name, DisplayName: name}}}
	if next := r.PageToken + "x"; len(next) < len(f.people) {
		out.NextPageToken = next
	}
	return out, nil
}

func (f *floor) open(t *testing.T) *client.Shop {
	t.Helper()
	conn := svctest.Fake(t, func(r grpc.ServiceRegistrar) {
		intakev1.RegisterIntakeServiceServer(r, f)
		workflowv1.RegisterPeopleServiceServer(r, f)
		workflowv1.RegisterStageServiceServer(r, f)
	})
	s, err := client.Use(func(string) (grpc.ClientConnInterface, error) { return conn, nil })
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func stage(id, key, part string) *workflowv1.Stage {
	return &workflowv1.Stage{Name: "pieces/a/stages/" + id, Key: key, PartLabel: part}
}

func TestStage_ByTitleOrKey(t *testing.T) {
	f := &floor{stages: []*workflowv1.Stage{
		stage("1", "clean", ""), stage("2", "sand", "top"), stage("3", "sand", "legs"), stage("4", "sand", ""),
		stage("5", "wax", "top"), stage("6", "oil", "top"), stage("7", "oil", "legs"),
		stage("8", "glue", "Ñandú"), stage("9", "dust", "top"), stage("10", "dust", "TOP"), stage("11", "fill", "top"), stage("12", "fill", "top"),
	}}
	s := f.open(t)
	piece := &intakev1.Piece{Name: "pieces/a", Tag: 7}
	for ref, want := range map[string]string{
		"sand (top)": "2", "SAND  (Legs)": "3", "sand": "4", "wax": "5", "Clean": "1", "pieces/a/stages/6": "6",
		"glue (ñANDÚ)": "8", "dust (TOP)": "10", "dust (top)": "9",
	} {
		if st, err := s.Stage(t.Context(), piece, ref); err != nil || st.Name != "pieces/a/stages/"+want {
			t.Errorf("Stage(%q) = %v, %v, want %s", ref, st, err, want)
		}
	}
	for ref, want := range map[string]string{
		"oil":        `piece 7 has several stages called "oil"; say which: oil (top), oil (legs)`,
		"Dust (Top)": `piece 7 has several stages called "Dust (Top)"; say which: dust (top), dust (TOP)`,
		"fill (top)": `say which: pieces/a/stages/11, pieces/a/stages/12`,
		"gild":       `piece 7 has no stage called "gild"; it has: clean, sand (top), sand (legs), sand, wax (top)`,
		"":           `has no stage called ""; it has: clean`,
	} {
		if st, err := s.Stage(t.Context(), piece, ref); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Stage(%q) = %v, %v, want %q", ref, st, err, want)
		}
	}
	f.stages = nil
	if _, err := s.Stage(t.Context(), piece, "sand"); err == nil || !strings.Contains(err.Error(), "it has: none yet") {
		t.Errorf("a stage of an unplanned piece: %v", err)
	}
}

func TestPerson_OnAnyPage(t *testing.T) {
	s := (&floor{people: []string{"Nell", "Priya", "Joss"}}).open(t)
	for _, ref := range []string{"joss", " JOSS ", "people/Joss"} {
		if p, err := s.Person(t.Context(), ref); err != nil || p.Name != "people/Joss" {
			t.Errorf("Person(%q) = %v, %v", ref, p, err)
		}
	}
	if _, err := s.Person(t.Context(), "Odile"); err == nil || !strings.HasSuffix(err.Error(), "there are: Nell, Priya, Joss") {
		t.Errorf("Person(Odile) = %v", err)
	}
}

func TestTerms_AreKept(t *testing.T) {
	f := &floor{terms: &intakev1.GetShopResponse{CurrencyCode: "JPY", TimeZone: "Asia/Tokyo"}}
	s := f.open(t)
	for range 3 {
		terms, err := s.Terms(t.Context())
		if err != nil || terms.Currency.Digits != 0 || terms.Zone.String() != "Asia/Tokyo" {
			t.Fatalf("Terms = %+v, %v", terms, err)
		}
	}
	if n := f.asked.Load(); n != 1 {
		t.Errorf("the shop was asked %d times", n)
	}
}

// An answer that failed is asked for again.
func TestTerms_AFailureIsNotKept(t *testing.T) {
	f := &floor{terms: &intakev1.GetShopResponse{CurrencyCode: "JPY", TimeZone: ""}}
	s := f.open(t)
	if _, err := s.Terms(t.Context()); err == nil {
		t.Error("a shop without a zone has terms")
	}
	f.terms = &intakev1.GetShopResponse{CurrencyCode: "JPY", TimeZone: "UTC"}
	if _, err := s.Terms(t.Context()); err != nil {
		t.Errorf("Terms = %v", err)
	}
}

func TestTitles_AsksOncePerPiece(t *testing.T) {
	f := &floor{stages: []*workflowv1.Stage{stage("1", "clean", ""), stage("2", "sand", "top")}}
	titles := client.NewTitles(f.open(t))
	for name, want := range map[string]string{"pieces/a/stages/1": "clean", "pieces/a/stages/2": "sand (top)", "pieces/a/stages/9": ""} {
		if got, err := titles.Of(t.Context(), name); err != nil || got != want {
			t.Errorf("Of(%s) = %q, %v, want %q", name, got, err, want)
		}
	}
	if n := f.asked.Load(); n != 1 {
		t.Errorf("the floor was asked %d times", n)
	}
}

func TestDial_NobodySaysWhere(t *testing.T) {
	s, err := client.Dial(map[string]string{"intake": "unix:/nowhere"})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if _, err := s.AllPeople(t.Context()); err == nil || !strings.Contains(err.Error(), "nobody says where workflow serves: use --workflow-addr or TACKFREE_WORKFLOW_ADDR") {
		t.Errorf("AllPeople = %v", err)
	}
}
