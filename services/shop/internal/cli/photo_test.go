package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"google.golang.org/protobuf/types/known/timestamppb"

	"tackfree/pkg/fault"
	intakev1 "tackfree/proto/tackfree/intake/v1"
)

// written writes a file and gives its path.
func written(t *testing.T, name string, content []byte) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(file, content, 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

func TestPhotoAdd(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	big := bytes.Repeat([]byte("photo"), 150_000) // three parts
	file := written(t, "front view.jpg", big)
	f.gives(t, append(line("photo add 1"), append([]string{file}, line("--moment defect --part Case --note 'burn, left' --stage 'sand (case)' --inspection inspections/i --at '2026-03-02 08:00'")...)...),
		&intakev1.UploadPhotoRequest{Chunk: big, Header: &intakev1.UploadPhotoRequest_Header{Piece: "pieces/a", Part: "pieces/a/parts/c", Moment: intakev1.Photo_MOMENT_DEFECT,
			Note: "burn, left", Stage: "pieces/a/stages/2", Inspection: "inspections/i", TakenTime: &timestamppb.Timestamp{Seconds: 1772460000}}})
	f.gives(t, []string{"photo", "add", "1", file, "--moment=before"},
		&intakev1.UploadPhotoRequest{Chunk: big, Header: &intakev1.UploadPhotoRequest_Header{Piece: "pieces/a", Moment: intakev1.Photo_MOMENT_BEFORE}})
	f.says(t, []string{"photo", "add", "1", file, "--moment=before"}, "Photo 5, before of case of piece 1, 640 × 480.")
	for words, want := range map[string]string{
		"--moment later":             `"later" is none of: before, during, after, defect`,
		"":                           "missing flags: --moment",
		"--moment before --part leg": `piece 1 has no part "leg"; it has: case, drawers`,
		"--moment before --stage x":  `piece 1 has no stage called "x"`,
		"--moment before --at noon":  "is not a time such as",
	} {
		f.refuses(t, append([]string{"photo", "add", "1", file}, line(words)...), want)
	}
	f.refuses(t, []string{"photo", "add", "9", file, "--moment=before"}, "There is no such piece.")
	f.refuses(t, line("photo add 1 /nowhere/x.jpg --moment before"), "/nowhere/x.jpg")
	f.refuses(t, line("photo add 1 --moment before"), `expected "<file> ..."`)
}

// Each of several files is a command by itself, and the same one when the line is given again.
func TestPhotoAdd_Several(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	one, two, three := written(t, "1.jpg", []byte("one")), written(t, "2.jpg", []byte("two")), written(t, "3.jpg", []byte("three"))
	args := []string{"photo", "add", "1", one, two, three, "--moment=after", "--request-id=0191d9f0-7f4e-7cc3-8a4e-9d3f2f4f4f4f"}
	f.says(t, args)
	f.says(t, args)
	if done := f.doings(); len(done) != 3 || slices.Contains(done[1:], done[0]) || done[1] == done[2] || done[0] != "0191d9f0-7f4e-7cc3-8a4e-9d3f2f4f4f4f" {
		t.Errorf("done under %v, want three ids of which the first is the line's", done)
	}
	f.gallery.refuses = "two"
	code, out, errs := f.run(t, "photo", "add", "1", one, two, three, "--moment=after")
	if code == 0 || strings.Count(out, "Photo 5") != 1 || !strings.Contains(errs, two+": Choose the most compatible format. (PHOTO_FORMAT)") {
		t.Errorf("with the second refused it exits %d and prints %q and %q", code, out, errs)
	}
	if n := len(f.commands()); n != 7 {
		t.Errorf("%d commands were given, want 7: none after the one that was refused", n)
	}
}

// A file that breaks off on its way goes on where it broke, as one command.
func TestPhotoAdd_GoesOnWhereItBroke(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	big := bytes.Repeat([]byte("photo"), 250_000)
	file := written(t, "front.jpg", big)
	f.gallery.loses = 3
	f.gives(t, []string{"photo", "add", "1", file, "--moment=before"},
		&intakev1.UploadPhotoRequest{Chunk: big, Header: &intakev1.UploadPhotoRequest_Header{Piece: "pieces/a", Moment: intakev1.Photo_MOMENT_BEFORE}})
	if f.gallery.loses > 0 || len(f.gallery.kept) < len(big)/2 {
		t.Errorf("%d streams were still to be lost, and %d bytes were kept", f.gallery.loses, len(f.gallery.kept))
	}
}

// What may have been added is found out by a line that adds nothing twice.
func TestPhotoAdd_Unsure(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.lost = fault.New(fault.Unavailable, "DATABASE_UNREACHABLE", "The database is away.")
	one, two := written(t, "1.jpg", []byte("one")), written(t, "2.jpg", []byte("two"))
	_, _, errs := f.run(t, "photo", "add", "1", one, two, "--moment=after")
	if first := f.doings()[0]; !strings.Contains(errs, "--request-id "+first) || !strings.Contains(errs, "may have been done and may not") {
		t.Errorf("it says %q, which does not give the line again under %s", errs, first)
	}
}

func TestPhotoList(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.says(t, line("photo list 1"), "no. shows part taken added by note\n", "1 before – 2026-03-02 09:00:00 CST Nell as found\n", "3 defect case 2026-03-02 09:00:00 CST Nell\n", "4 after – 2026-03-02 09:00:00 CST Nell removed by Odile: blurred\n")
	if g := f.gallery.asked; g.Piece != "pieces/a" || g.ShowRemoved || g.Moment != 0 {
		t.Errorf("it asks for %v", g)
	}
	f.says(t, line("photo list 1 --moment defect --removed --json"), `"photos/p4"`)
	if g := f.gallery.asked; !g.ShowRemoved || g.Moment != intakev1.Photo_MOMENT_DEFECT {
		t.Errorf("it asks for %v", g)
	}
	f.says(t, line("photo list 1 --csv"), "photos/p4", "blurred")
	f.refuses(t, line("photo list 1 --moment later"), "is none of: before, during, after, defect")
}

func TestPhotoSave(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gallery.file = bytes.Repeat([]byte("x"), 1000)
	file := filepath.Join(t.TempDir(), "out.jpg")
	read := func() string {
		b, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	f.says(t, []string{"photo", "save", "1", "3", file}, "Photo 3 of piece 1 is in "+file)
	if want := "photos/p3 SIZE_FULL: " + string(f.gallery.file); read() != want {
		t.Errorf("the file has %q", read())
	}
	f.says(t, []string{"photo", "save", "1", "1", file, "--size=thumbnail"})
	if before := read(); !strings.HasPrefix(before, "photos/p1 SIZE_THUMBNAIL: ") {
		t.Errorf("the file has %q", before)
	}
	f.gallery.breaks = true
	before := read()
	f.refuses(t, []string{"photo", "save", "1", "3", file}, "The file is not there.")
	if left, err := os.ReadDir(filepath.Dir(file)); read() != before || err != nil || len(left) != 1 {
		t.Errorf("half a photo came to be: %v, %v", left, err)
	}
	f.refuses(t, []string{"photo", "save", "1", "2", file}, "piece 1 has no photo 2; `shop photo list 1` lists them")
}

func TestPhotoDescribeAndRemove(t *testing.T) {
	t.Parallel()
	f := newFake(t)
	f.gives(t, line("photo describe 1 1 --moment defect"), &intakev1.DescribePhotoRequest{Photo: "photos/p1", Moment: intakev1.Photo_MOMENT_DEFECT, Note: "as found"})
	f.gives(t, line("photo describe 1 1 --note ''"), &intakev1.DescribePhotoRequest{Photo: "photos/p1", Moment: intakev1.Photo_MOMENT_BEFORE})
	f.gives(t, line("photo describe 1 1 --note 'ring, left'"), &intakev1.DescribePhotoRequest{Photo: "photos/p1", Moment: intakev1.Photo_MOMENT_BEFORE, Note: "ring, left"})
	f.refuses(t, line("photo describe 1 1"), "say what it shows: --moment or --note or both")
	f.refuses(t, line("photo describe 1 1 --moment later"), "is none of")
	f.gives(t, line("photo remove 1 3 --reason 'shows the neighbour'"), &intakev1.RemovePhotoRequest{Photo: "photos/p3", Reason: "shows the neighbour"})
	f.says(t, line("photo remove 1 3 --reason x"), "is removed; its file goes after a day")
	f.refuses(t, line("photo remove 1 3"), "missing flags: --reason")
	f.refuses(t, line("photo remove 1 2 --reason x"), "piece 1 has no photo 2")
}
