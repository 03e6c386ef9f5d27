package fault_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"tackfree/pkg/fault"
)

func TestThe_SaysAFieldAsPeopleDo(t *testing.T) {
	for path, want := range map[string]string{
		"sighting.asking_price": "The asking price", "price": "The price", "quantity.value": "The quantity", "value": "The value",
		"parts[1].length": "The length of parts, number 2,", "parts[0].thickness.value": "The thickness of parts, number 1,",
		"acknowledged_cautions[2]": "The acknowledged cautions, number 3,", "wet_film_um": "The wet film", "to_time": "The end",
		"dry film": "The dry film", "--stated": "--stated",
	} {
		if got := fault.The(path); got != want {
			t.Errorf("The(%q) = %q, want %q", path, got, want)
		}
	}
	if got, want := fault.Sentence("", "say both or neither"), "Say both or neither."; got != want {
		t.Errorf("Sentence = %q, want %q", got, want)
	}
	if got, want := fault.Sentence("sighting.asking_price", "is missing"), "The asking price is missing."; got != want {
		t.Errorf("Sentence = %q, want %q", got, want)
	}
}

var (
	ofContract = regexp.MustCompile(`\b[a-z]+_[a-z_]+\b|\b[a-z]+\.[a-z]+\b`)
	// What is typed in lower case with underscores or points by people too, and no field of a contract.
	typed = regexp.MustCompile(`/openapi\.json|topcoat_coat|\b[a-z]+\.(csv|yaml)\b`)
)

// No refusal has a field of a contract in its sentence, neither written out nor put in as it is; beside the sentence
// it is named to programs. The edge alone speaks to programs: its fields are what they sent.
func TestNew_SentencesAreOfPeople(t *testing.T) {
	found := 0
	for _, root := range []string{"..", filepath.Join("..", "..", "services")} {
		err := filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") || strings.Contains(name, "/edge/") {
				return err
			}
			file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
			if err != nil {
				return err
			}
			ast.Inspect(file, func(n ast.Node) bool {
				if args := made(n); args != nil {
					found++
					sentence(t, name, args)
				}
				return true
			})
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if found < 500 {
		t.Errorf("only %d refusals were found", found)
	}
}

// made gives the format and its values where a fault is made.
func made(n ast.Node) []ast.Expr {
	call, is := n.(*ast.CallExpr)
	if !is || len(call.Args) < 3 {
		return nil
	}
	f, is := call.Fun.(*ast.SelectorExpr)
	if !is || f.Sel.Name != "New" {
		return nil
	}
	if of, is := f.X.(*ast.Ident); !is || of.Name != "fault" {
		return nil
	}
	return call.Args[2:]
}

func sentence(t *testing.T, file string, args []ast.Expr) {
	t.Helper()
	ast.Inspect(args[0], func(n ast.Node) bool {
		if text, is := n.(*ast.BasicLit); is && ofContract.MatchString(typed.ReplaceAllString(text.Value, "")) {
			t.Errorf("%s: %s names a field of a contract", file, text.Value)
		}
		return true
	})
	for _, value := range args[1:] {
		switch v := value.(type) {
		case *ast.Ident:
			if v.Name == "field" || v.Name == "prefix" {
				t.Errorf("%s: a field's path is put into a sentence; put in fault.The of it", file)
			}
		case *ast.SelectorExpr:
			if v.Sel.Name == "field" {
				t.Errorf("%s: a field's path is put into a sentence; put in fault.The of it", file)
			}
		}
	}
}
