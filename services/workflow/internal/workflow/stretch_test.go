package workflow_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
	"tackfree/services/workflow/internal/workflow"
)

// fronts are entries of Nell's on a batch that runs since nine, one for each weight.
func fronts(weights ...int64) []workflow.Entry {
	var all []workflow.Entry
	for i, w := range weights {
		e := workflow.Entry{ID: id.New(), PersonName: "Nell", Stage: id.New(), Batch: id.New(), Start: nine, StretchStart: nine, Held: i > 0, Weight: w}
		e.Stretch = e.ID
		if i > 0 {
			e.Stretch = all[0].ID
		}
		all = append(all, e)
	}
	return all
}

// An hour over drawer fronts of 0.5, 0.3 and 0.2 m²: 30, 18 and 12 minutes, one after the
// other.
func TestOff_BatchByArea(t *testing.T) {
	all := fronts(50, 30, 20)
	if err := workflow.Off(all, nine.Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	from := nine
	for i, want := range []time.Duration{30 * time.Minute, 18 * time.Minute, 12 * time.Minute} {
		e := all[i]
		if !e.Start.Equal(from) || e.End.Sub(e.Start) != want || e.Held || !e.StretchStart.Equal(nine) || !e.StretchEnd.Equal(nine.Add(time.Hour)) {
			t.Errorf("front %d = %v from %v, want %v from %v", i, e.End.Sub(e.Start), e.Start, want, from)
		}
		from = e.End
	}
}

// However long it took and whatever the areas are, the entries lie one after the other, fill
// the stretch, and each is within a second of its exact share; to nobody falls nothing.
func TestOff_BatchAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		weights := rapid.SliceOfN(rapid.Int64Range(1, 1_000_000), 2, 60).Draw(t, "weights")
		all := fronts(weights...)
		length := time.Duration(rapid.Int64Range(int64(len(weights))*1_000_000, 24*3600*1_000_000).Draw(t, "µs")) * time.Microsecond
		if err := workflow.Off(all, nine.Add(length)); err != nil {
			t.Fatal(err)
		}
		var sum int64
		for _, w := range weights {
			sum += w
		}
		from := nine
		for i, e := range all {
			got := e.End.Sub(e.Start)
			if !e.Start.Equal(from) || got < time.Second {
				t.Fatalf("entry %d goes from %v for %v", i, e.Start, got)
			}
			if i < len(all)-1 && got%time.Second != 0 {
				t.Fatalf("entry %d takes %v, which is no whole seconds", i, got)
			}
			exact := length.Seconds() * float64(weights[i]) / float64(sum)
			if diff := got.Seconds() - exact; diff >= float64(len(all))+1 || diff <= -float64(len(all))-1 {
				t.Fatalf("entry %d takes %v, exactly %.3f s", i, got, exact)
			}
			from = e.End
		}
		if !from.Equal(nine.Add(length)) {
			t.Fatalf("the entries end at %v, the stretch at %v", from, nine.Add(length))
		}
	})
}

func TestOff_BatchRefuses(t *testing.T) {
	for want, length := range map[string]time.Duration{"CLOCK_TOO_SHORT": 2999 * time.Millisecond, "CLOCK_ENDS_BEFORE_START": 0, "CLOCK_TOO_LONG": 24*time.Hour + time.Second} {
		if err := workflow.Off(fronts(1, 1, 1), nine.Add(length)); !fault.Is(err, want) {
			t.Errorf("Off after %v = %v, want %s", length, err, want)
		}
	}
	err := workflow.Off(fronts(1, 1, 1), nine.Add(2*time.Second).In(time.FixedZone("EST", -5*3600)))
	refusedWords(t, err, "CLOCK_TOO_SHORT", "3 stages", "from Mon 2 Mar 2026 09:00:03 EST on", "at least 3 seconds after its start", "take the stretch away")
	if err := workflow.Off(fronts(1_000_000, 1, 1), nine.Add(3*time.Second)); err != nil {
		t.Errorf("a second for each of three = %v", err)
	}
}

// Who runs a batch is at the batch, and no more at its first stage once that is over.
func TestEntry_On_Batch(t *testing.T) {
	on := onOther(time.Time{})
	on.Batch, on.BatchName = id.New(), "Fronts"
	_, err := workflow.OnIndirect(workflow.Person{ID: id.New(), Name: "Nell"}, on, "cleaning", start(nine))
	refusedWords(t, err, "CLOCK_OPEN", `at the batch "Fronts" since`)
	if on.End = nine; on.On() != "sand (case) of piece 8" {
		t.Errorf("On() = %q, want what its share is of", on.On())
	}
}

// What somebody leaves is finished if it is a stage, and nothing else.
func TestLeft(t *testing.T) {
	e := workflow.Entry{PersonName: "Nell", Piece: id.New(), Stage: id.New()}
	if piece, stage, err := workflow.Left([]workflow.Entry{e}); err != nil || piece != e.Piece || stage != e.Stage {
		t.Errorf("Left = %v, %v, %v", piece, stage, err)
	}
	_, _, err := workflow.Left([]workflow.Entry{{PersonName: "Nell", Indirect: "pick_up"}})
	refusedWords(t, err, "NOTHING_TO_FINISH", "pick up", "without finishing")
	e.Batch, e.BatchName = id.New(), "Fronts"
	_, _, err = workflow.Left([]workflow.Entry{e, e})
	refusedWords(t, err, "STAGE_IN_BATCH", `"Fronts"`, "then finish the batch")
}

func TestOnIndirect(t *testing.T) {
	nell := workflow.Person{ID: id.New(), Name: "Nell", Version: 1}
	on, err := workflow.OnIndirect(nell, nil, "pick_up", start(nine))
	if err != nil || on.Entry.Indirect != "pick_up" || on.Entry.Stage != id.Nil || on.Entry.Pass != 1 || on.Entry.On() != "pick up" {
		t.Errorf("OnIndirect = %+v, %v", on.Entry, err)
	}
	_, err = workflow.OnIndirect(nell, onOther(time.Time{}), "cleaning", start(nine))
	refusedWords(t, err, "CLOCK_OPEN", "sand (case) of piece 8", "switch")
	_, err = workflow.OnIndirect(nell, onOther(nine.Add(time.Minute)), "cleaning", start(nine))
	refusedWords(t, err, "CLOCK_OVERLAP", "Begin after it")
	nell.ActiveTo = nine.AddDate(0, 0, -1).Truncate(24 * time.Hour)
	_, err = workflow.OnIndirect(nell, nil, "cleaning", start(nine))
	refusedWords(t, err, "PERSON_INACTIVE", "Nell left", "Take somebody else")
	_, err = workflow.RecordedIndirect(nell, nil, "cleaning", id.New(), nine, nine.Add(time.Hour), "Opal", "nobody clocked it", false)
	refusedWords(t, err, "PERSON_INACTIVE")
	if _, err = workflow.RecordedIndirect(nell, nil, "cleaning", id.New(), nine, nine.Add(time.Hour), "Opal", "she was there", true); err != nil {
		t.Errorf("what the lead vouches for = %v", err)
	}
}

// A stretch on a batch is corrected as one: all its entries are laid out anew.
func TestCorrect_Batch(t *testing.T) {
	all := fronts(2, 1)
	if err := workflow.Off(all, nine.Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	shorter := workflow.Change{End: nine.Add(30 * time.Minute), Stage: workflow.Stage{ID: all[0].Stage}}
	fresh, err := workflow.Correct(all, shorter, id.New, "Opal", "they left sooner", nine)
	if err != nil {
		t.Fatal(err)
	}
	if fresh[0].End.Sub(fresh[0].Start) != 20*time.Minute || fresh[1].End.Sub(fresh[1].Start) != 10*time.Minute || fresh[1].Stretch != fresh[0].ID ||
		fresh[1].Corrects != all[1].ID || !all[0].Superseded || !all[1].Superseded {
		t.Errorf("corrected = %+v", fresh)
	}
	_, err = workflow.Correct(fresh, workflow.Change{End: shorter.End, Stage: workflow.Stage{ID: fresh[0].Stage}}, id.New, "Opal", "x", nine)
	refusedWords(t, err, "CORRECTION_CHANGES_NOTHING")
	again := fronts(1, 1)
	if err := workflow.Off(again, nine.Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	_, err = workflow.Correct(again, workflow.Change{Indirect: "cleaning"}, id.New, "Opal", "x", nine)
	refusedWords(t, err, "BATCH_ENTRY", "Take the stretch away")
}
