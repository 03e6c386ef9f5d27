// Package archtest holds the suite to its shape. Test rig.
//
//	trade, pure ◀── domain ◀── server ──▶ store        a service's own folder
//	     ▲            (no context, clock, SQL, contracts)
//	     └── plumbing ──▶ fault                        pkg/ says which it is
//
// The compiler keeps services out of each other's internal folders; what it lets pass is
// found here, by reading the imports of every file.
package archtest

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// Package is one folder of Go files, as far as its shape goes.
type Package struct {
	Path        string // without the module
	Doc         string // the package comment
	Generated   bool   // all of it
	Imports     []string
	TestImports []string
	Clock       []string // where it asks for the time, or waits
}

// Tree is the packages of a module by their path.
type Tree struct {
	Module   string
	Packages map[string]*Package
}

// Load reads the module at root.
func Load(root string) (*Tree, error) {
	module, err := moduleOf(root)
	if err != nil {
		return nil, err
	}
	t := &Tree{Module: module, Packages: map[string]*Package{}}
	err = filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && name != root && (strings.HasPrefix(d.Name(), ".") || d.Name() == "testdata"):
			return fs.SkipDir
		case d.IsDir() || filepath.Ext(name) != ".go":
			return nil
		}
		rel, err := filepath.Rel(root, filepath.Dir(name))
		if err != nil {
			return err
		}
		return t.add(filepath.ToSlash(rel), name)
	})
	return t, err
}

func moduleOf(root string) (string, error) {
	b, err := os.ReadFile(filepath.Join(root, "go.mod"))
	if err != nil {
		return "", err
	}
	line, _, _ := strings.Cut(string(b), "\n")
	return strings.TrimSpace(strings.TrimPrefix(line, "module ")), nil
}

// add reads one file into its package.
func (t *Tree) add(folder, name string) error {
	files := token.NewFileSet()
	f, err := parser.ParseFile(files, name, nil, parser.ParseComments|parser.SkipObjectResolution)
	if err != nil {
		return err
	}
	p := t.Packages[folder]
	if p == nil {
		p = &Package{Path: folder, Generated: true}
		t.Packages[folder] = p
	}
	imports := t.importsOf(f)
	if strings.HasSuffix(name, "_test.go") {
		p.TestImports = append(p.TestImports, imports...)
		return nil
	}
	p.Generated = p.Generated && ast.IsGenerated(f)
	p.Imports = append(p.Imports, imports...)
	p.Doc += f.Doc.Text()
	p.Clock = append(p.Clock, clockIn(files, f)...)
	return nil
}

// importsOf lists what a file imports, the module's own packages without the module.
func (t *Tree) importsOf(f *ast.File) (all []string) {
	for _, spec := range f.Imports {
		name, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			panic(err) // it has been parsed
		}
		if own, ok := strings.CutPrefix(name, t.Module+"/"); ok {
			name = "./" + own
		}
		all = append(all, name)
	}
	return all
}

// clock are the functions of package time that know what time it is.
var clock = []string{"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker"}

func clockIn(files *token.FileSet, f *ast.File) (all []string) {
	alias := ""
	for _, spec := range f.Imports {
		if spec.Path.Value == `"time"` {
			if alias = "time"; spec.Name != nil {
				alias = spec.Name.Name
			}
		}
	}
	ast.Inspect(f, func(n ast.Node) bool {
		s, ok := n.(*ast.SelectorExpr)
		if !ok {
			return true
		}
		if x, ok := s.X.(*ast.Ident); ok && alias != "" && x.Name == alias && slices.Contains(clock, s.Sel.Name) {
			at := files.Position(s.Pos())
			all = append(all, fmt.Sprintf("time.%s at %s:%d", s.Sel.Name, path.Base(filepath.ToSlash(at.Filename)), at.Line))
		}
		return true
	})
	return all
}
