package floorfile

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"tackfree/pkg/fault"
	"tackfree/pkg/planner"
)

// chair is a chair that is stripped, soaks, and gets a coat, and a door of which one thing is done already.
const chair = `{"format":"shop-instance/1","name":"two","epoch":"2026-03-02T00:00","horizon":5760,"grid":5,"now":480,
"calendars":{"day":[[480,720],[720,960],[1920,2400]],"hours":[[420,1140],[1860,2580]]},
"workers":[{"id":"Ana","calendar":"day"},{"id":"Ben"}],
"stations":[{"id":"booth","capacity":1,"calendar":"hours"},{"id":"tank","capacity":2,"calendar":null}],
"pieces":[
 {"id":"chair","type":"chair","release":0,"due":900,"weight":2,
  "ops":[{"id":"c1","name":"strip","splittable":true,"demand":1,"stations":[],"modes":[{"worker":"Ana","dur":400}]},
         {"id":"c2","name":"soak","stations":["tank"],"modes":[{"worker":null,"dur":120}]},
         {"id":"c3","name":"coat","stations":["booth"],"modes":[{"worker":"Ana","dur":30},{"worker":"Ben","dur":20}]}],
  "lags":[{"from":"c1","to":"c2","min":0,"max":240},{"from":"c2","to":"c3","min":60,"max":null}]},
 {"id":"door","ops":[{"id":"d1","modes":[{"worker":"Ben","dur":60}]}]}],
"frozen":[{"op":"d1","worker":"Ben","station":null,"start":450,"end":520}]}`

func TestRead(t *testing.T) {
	f, err := Read([]byte(chair))
	if err != nil {
		t.Fatal(err)
	}
	want := planner.Problem{Now: 480, Horizon: 5760,
		Workers:  []planner.Worker{{ID: "Ana", Calendar: planner.Calendar{{Start: 480, End: 960}, {Start: 1920, End: 2400}}}, {ID: "Ben"}},
		Stations: []planner.Station{{ID: "booth", Capacity: 1, Calendar: planner.Calendar{{Start: 420, End: 1140}, {Start: 1860, End: 2580}}}, {ID: "tank", Capacity: 2}},
		Pieces:   []planner.Piece{{ID: "chair", Due: 900, Weight: 2}, {ID: "door", Due: planner.NoDue, Weight: 1}},
		Operations: []planner.Operation{
			{ID: "c1", Modes: []planner.Mode{{Worker: 0, Minutes: 400}}, Demand: 1, Splittable: true},
			{ID: "c2", Modes: []planner.Mode{{Worker: planner.NoWorker, Minutes: 120}}, Stations: []int{1}, Demand: 1},
			{ID: "c3", Modes: []planner.Mode{{Worker: 0, Minutes: 30}, {Worker: 1, Minutes: 20}}, Stations: []int{0}, Demand: 1},
			{ID: "d1", Piece: 1, Modes: []planner.Mode{{Worker: 1, Minutes: 60}}, Demand: 1}},
		Lags:  []planner.Lag{{From: 0, To: 1, Min: 0, Max: 240}, {From: 1, To: 2, Min: 60, Max: planner.Forever}},
		Fixed: []planner.Fixed{{Operation: 3, Slot: planner.Slot{Worker: 1, Station: planner.NoStation, Start: 450, End: 520}}}}
	if !reflect.DeepEqual(f.Problem, want) {
		t.Errorf("read %+v\nwant %+v", f.Problem, want)
	}
	if f.Name != "two" || f.Epoch != "2026-03-02T00:00" || !slices.Equal(f.Titles, []string{"strip", "soak", "coat", ""}) {
		t.Errorf("named %q from %q, %q", f.Name, f.Epoch, f.Titles)
	}
}

// By hand: the chair is stripped 480-880, soaks 880-1000, is dry at 1060, and Ben coats it until 1080, two
// times 180 minutes late; the door was done at 520.
func TestFile_Write(t *testing.T) {
	f, err := Read([]byte(chair))
	if err != nil {
		t.Fatal(err)
	}
	plan, err := planner.Improve(&f.Problem, nil, planner.Options{Cores: 1, Iterations: 50}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := f.Cost(plan), (Cost{360, 1080, 1080 + 520}); got != want {
		t.Errorf("costs %+v, want %+v", got, want)
	}
	text, err := f.Write(plan)
	if err != nil {
		t.Fatal(err)
	}
	const want = `{"format":"shop-schedule/1","instance":"two","ops":[{"op":"c1","worker":"Ana","station":null,"start":480,"end":880},` +
		`{"op":"c2","worker":null,"station":"tank","start":880,"end":1000},{"op":"c3","worker":"Ben","station":"booth","start":1060,"end":1080},` +
		`{"op":"d1","worker":"Ben","station":null,"start":450,"end":520}],"claimed":{"wt":360,"makespan":1080,"flow":1600}}`
	if string(text) != want {
		t.Errorf("wrote %s\nwant  %s", text, want)
	}
	back, err := f.Plan(text)
	if err != nil || !slices.Equal(back.Slots, plan.Slots) {
		t.Errorf("read back %v, %v", back, err)
	}
}

func TestRead_Refuses(t *testing.T) {
	for name, x := range map[string]struct{ old, new, line string }{
		"no JSON":         {`"now":480,`, `"now":480;`, "1"},
		"cut off":         {`"end":520}]}`, `"end":520}`, "12"},
		"other format":    {"shop-instance/1", "shop-instance/2", "1"},
		"no horizon":      {`"horizon":5760,`, ``, "1"},
		"fraction":        {`[480,720]`, `[480,720.5]`, "2"},
		"backward":        {`[1920,2400]`, `[2400,1920]`, "2"},
		"overlap":         {`[720,960]`, `[700,960]`, "2"},
		"three":           {`[720,960]`, `[720,960,1]`, "2"},
		"no calendar":     {`"id":"Ana","calendar":"day"`, `"id":"Ana","calendar":"night"`, "3"},
		"twice a worker":  {`"id":"Ben"`, `"id":"Ana"`, "3"},
		"no room":         {`"capacity":1`, `"capacity":0`, "4"},
		"weight":          {`"weight":2`, `"weight":0`, "6"},
		"neither":         {`"splittable":true`, `"splittable":"yes"`, "7"},
		"no minutes":      {`{"worker":"Ana","dur":400}`, `{"worker":"Ana"}`, "7"},
		"no station":      {`["tank"]`, `["tanks"]`, "8"},
		"no such worker":  {`"worker":"Ben","dur":20`, `"worker":"Bob","dur":20`, "9"},
		"lag to nowhere":  {`"from":"c1","to":"c2"`, `"from":"c1","to":"c9"`, "10"},
		"lag to itself":   {`"from":"c1","to":"c2"`, `"from":"c1","to":"c1"`, "10"},
		"short":           {`"min":60,"max":null`, `"min":60,"max":50`, "10"},
		"too much":        {`"demand":1,"stations":[]`, `"demand":2,"stations":["booth"]`, "7"},
		"backward frozen": {`"start":450,"end":520`, `"start":450,"end":420`, "12"},
		"nothing frozen":  {`"op":"d1"`, `"op":"d2"`, "12"},
		"key twice":       {`"now":480,`, `"now":480,"now":480,`, "1"},
		"more":            {`"end":520}]}`, `"end":520}]} {}`, "12"},
		"deep":            {`"epoch":"2026-03-02T00:00"`, `"epoch":` + strings.Repeat("[", 40) + strings.Repeat("]", 40), "1"},
		"no time":         {"2026-03-02T00:00", "soon", "1"},
		"misspelt":        {`"splittable":true`, `"spittable":true`, "7"},
		"key of a piece":  {`"weight":2`, `"wieght":2`, "6"},
		"twice a piece":   {`{"id":"door"`, `{"id":"chair"`, "11"},
		"circle":          {`{"from":"c2","to":"c3","min":60,"max":null}`, "\n" + `{"from":"c2","to":"c1"}`, "10"},
		"two at once":     {`"start":450,"end":520}`, `"start":450,"end":520},` + "\n" + `{"op":"c3","worker":"Ben","station":"booth","start":500,"end":520}`, "13"},
		"no list":         {`"frozen":[`, `"frozen":3,"x":[`, "12"},
	} {
		text := strings.Replace(chair, x.old, x.new, 1)
		if text == chair {
			t.Fatalf("%s: nothing is replaced", name)
		}
		_, err := Read([]byte(text))
		if !fault.Is(err, "FLOOR_FILE_MALFORMED") {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if line := fault.Of(err).Meta["line"]; line != x.line || !strings.HasPrefix(err.Error(), "Line "+line+": ") {
			t.Errorf("%s: %v, want line %s", name, err, x.line)
		}
	}
}

func TestFile_Plan_Refuses(t *testing.T) {
	f, err := Read([]byte(chair))
	if err != nil {
		t.Fatal(err)
	}
	const good = `{"format":"shop-schedule/1","instance":"two",
"ops":[{"op":"c1","worker":"Ana","start":480,"end":880},{"op":"c2","station":"tank","start":880,"end":1000},
{"op":"c3","worker":"Ben","station":"booth","start":1060,"end":1080},{"op":"d1","worker":"Ben","start":450,"end":520}]}`
	if _, err := f.Plan([]byte(good)); err != nil {
		t.Fatal(err)
	}
	for name, x := range map[string][2]string{
		"missing":      {`,{"op":"d1","worker":"Ben","start":450,"end":520}`, ``},
		"twice":        {`"op":"c2"`, `"op":"c1"`},
		"other":        {`"two"`, `"three"`},
		"format":       {"shop-schedule/1", "shop-instance/1"},
		"no worker":    {`"op":"c1","worker":"Ana"`, `"op":"c1","worker":"Bob"`},
		"not a minute": {`"start":480`, `"start":"480"`},
	} {
		if _, err := f.Plan([]byte(strings.Replace(good, x[0], x[1], 1))); !fault.Is(err, "FLOOR_FILE_MALFORMED") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Colours and the cleaning between them are read, and planned: Ben's coat of 20 minutes waits for the dark one.
func TestRead_Colours(t *testing.T) {
	const text = `{"format":"shop-instance/1","name":"colours","horizon":1000,"calendars":{},"workers":[{"id":"Ana"},{"id":"Ben"}],
"stations":[{"id":"booth","capacity":1,"changeover":[[0,0,0],[0,0,10],[0,45,0]]}],
"pieces":[{"id":"dark","due":30,"ops":[{"id":"d","colour":2,"stations":["booth"],"modes":[{"worker":"Ana","dur":30}]}]},
 {"id":"light","ops":[{"id":"l","colour":1,"stations":["booth"],"modes":[{"worker":"Ben","dur":20}]}]}]}`
	f, err := Read([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if got := f.Problem.Stations[0].Changeover; !reflect.DeepEqual(got, [][]int{{0, 0, 0}, {0, 0, 10}, {0, 45, 0}}) || f.Problem.Operations[0].Colour != 2 || f.Problem.Operations[1].Colour != 1 {
		t.Errorf("changeover %v, colours %d and %d", got, f.Problem.Operations[0].Colour, f.Problem.Operations[1].Colour)
	}
	plan, err := planner.Dispatch(&f.Problem)
	if err != nil || plan.Slots[1].Start != 75 {
		t.Errorf("%+v, %v", plan, err)
	}
	for _, bad := range [][2]string{{"[0,45,0]", "3"}, {"[0,45,0]", `[0,"x",0]`}, {`"colour":2`, `"colour":-2`}, {`"colour":2`, `"colour":256`}, {"[[0,0,0],[0,0,10],[0,45,0]]", "-4"}} {
		if _, err := Read([]byte(strings.Replace(text, bad[0], bad[1], 1))); !fault.Is(err, "FLOOR_FILE_MALFORMED") {
			t.Errorf("%s: %v", bad[1], err)
		}
	}
	even, err := Read([]byte(strings.Replace(text, "[[0,0,0],[0,0,10],[0,45,0]]", "25", 1)))
	if err != nil || !reflect.DeepEqual(even.Problem.Stations[0].Changeover, [][]int{{0, 0, 0}, {0, 0, 25}, {0, 25, 0}}) {
		t.Errorf("25 minutes between any two: %v, %v", even.Problem.Stations[0].Changeover, err)
	}
	unknown, err := Read([]byte(strings.Replace(text, `"colour":2`, `"colour":3`, 1)))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := planner.Dispatch(&unknown.Problem); !fault.Is(err, "PROBLEM_MALFORMED") {
		t.Errorf("a colour that the booth does not know: %v", err)
	}
}

// Whatever a file holds, it is read or refused with a line, and what is read can be planned or is refused.
func FuzzRead(f *testing.F) {
	f.Add([]byte(chair))
	f.Add([]byte(`{"format":"shop-instance/1","name":"","horizon":9,"calendars":{},"workers":[],"stations":[],"pieces":[]}`))
	f.Add([]byte(strings.NewReplacer(`"capacity":1,`, `"capacity":1,"changeover":[[0,0],[0,5]],`, `"name":"coat"`, `"colour":1`).Replace(chair)))
	f.Add([]byte(`[[[[`))
	f.Add([]byte("{\n\"format\": 7}"))
	f.Fuzz(func(t *testing.T, text []byte) {
		file, err := Read(text)
		if err != nil {
			if fault.Of(err) == nil || fault.Of(err).Meta["line"] == "" {
				t.Fatalf("refused without a line: %v", err)
			}
			return
		}
		if file.Problem.Horizon > 100_000 || len(file.Problem.Operations) > 50 {
			return
		}
		plan, err := planner.Dispatch(&file.Problem)
		if err != nil {
			if !fault.Is(err, "PROBLEM_MALFORMED") {
				t.Fatal(err)
			}
			return
		}
		if len(plan.Left) > 0 {
			return
		}
		out, err := file.Write(plan)
		if err != nil {
			t.Fatal(err)
		}
		if back, err := file.Plan(out); err != nil || !slices.Equal(back.Slots, plan.Slots) {
			t.Fatalf("written and not read back: %v", err)
		}
	})
}
