package archtest

import (
	"fmt"
	"slices"
	"strings"
)

// Words by which a package comment says what kind its package is.
const (
	pure     = "Trade, pure"
	rig      = "Test rig"
	plumbing = "Plumbing"
)

// impure is what has to do with the world: time, disk, network, other programs.
var impure = []string{
	"context", "database/sql", "io/fs", "log", "log/slog", "net", "os", "syscall",
	"github.com/jackc/pgx", "github.com/nats-io", "google.golang.org/grpc", "google.golang.org/protobuf", "./proto", "./services",
}

// outside is what a service's domain does not know of: its callers, its clock's context,
// its tables, its contracts.
var outside = []string{
	"context", "database/sql", "net", "os", "github.com/jackc/pgx", "github.com/nats-io",
	"google.golang.org/grpc", "google.golang.org/protobuf", "google.golang.org/genproto", "./proto", "./pkg/pg", "./pkg/grpcx",
}

// heavy is what only tests, rigs and the whole shop in one process carry with them.
var heavy = []string{"github.com/testcontainers", "github.com/nats-io/nats-server", "testing"}

// Broken lists, in order, what is wrong with the shape of a tree.
func (t *Tree) Broken() []string {
	var all []string
	for _, p := range t.Packages {
		all = append(all, t.impurities(p)...)
		all = append(all, strangers(p)...)
		all = append(all, domainImports(p)...)
		all = append(all, t.rigs(p)...)
		if !p.Generated && p.Doc == "" {
			all = append(all, fmt.Sprintf("%s: no package comment", p.Path))
		} else if strings.HasPrefix(p.Path, "pkg/") && !p.Generated && !p.saysKind() {
			all = append(all, fmt.Sprintf("%s: its comment says neither %q nor %q nor %q", p.Path, pure, plumbing, rig))
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// saysKind: what services share is rules of the trade, or plumbing, or for tests, and a
// newcomer can see which.
func (p *Package) saysKind() bool {
	return slices.ContainsFunc([]string{pure, plumbing, rig}, func(kind string) bool { return strings.Contains(p.Doc, kind) })
}

// impurities: a trade package stands on other trade packages and on fault; what is planted in it
// is nothing outside of the fault tests.
func (t *Tree) impurities(p *Package) (all []string) {
	if !strings.Contains(p.Doc, pure) {
		return nil
	}
	for _, name := range p.Imports {
		own, isOwn := strings.CutPrefix(name, "./")
		if isOwn && own != "pkg/fault" && own != "pkg/planted" && !t.says(own, pure) || under(name, impure) {
			all = append(all, fmt.Sprintf("%s: it is pure and imports %s", p.Path, strings.TrimPrefix(name, "./")))
		}
	}
	for _, use := range p.Clock {
		all = append(all, fmt.Sprintf("%s: it is pure and uses %s", p.Path, use))
	}
	return all
}

// strangers: a service knows the others by their contracts; only the whole shop wires
// them together. What services share knows none of them.
func strangers(p *Package) (all []string) {
	mine := serviceOf("./" + p.Path)
	if mine == "shop" {
		return nil
	}
	for _, name := range slices.Concat(p.Imports, p.TestImports) {
		if other := serviceOf(name); other != "" && other != mine {
			all = append(all, fmt.Sprintf("%s: it imports %s of another service", p.Path, strings.TrimPrefix(name, "./")))
		}
	}
	return all
}

// serviceOf gives the service whose folder a package is in, or "".
func serviceOf(name string) string {
	words := strings.Split(name, "/")
	if len(words) < 3 || words[0] != "." || words[1] != "services" {
		return ""
	}
	return words[2]
}

// domainImports: services/{name}/internal/{name} holds rules and nothing else.
func domainImports(p *Package) (all []string) {
	words := strings.Split(p.Path, "/")
	if len(words) != 4 || words[0] != "services" || words[2] != "internal" || words[1] != words[3] {
		return nil
	}
	for _, name := range p.Imports {
		if under(name, outside) {
			all = append(all, fmt.Sprintf("%s: it is a domain and imports %s", p.Path, strings.TrimPrefix(name, "./")))
		}
	}
	for _, use := range p.Clock {
		all = append(all, fmt.Sprintf("%s: it is a domain and uses %s", p.Path, use))
	}
	return all
}

// rigs: what is for tests stays out of the services.
func (t *Tree) rigs(p *Package) (all []string) {
	if strings.Contains(p.Doc, rig) || serviceOf("./"+p.Path) == "shop" {
		return nil
	}
	for _, name := range p.Imports {
		if own, isOwn := strings.CutPrefix(name, "./"); isOwn && t.says(own, rig) || under(name, heavy) {
			all = append(all, fmt.Sprintf("%s: it imports %s, which is for tests", p.Path, strings.TrimPrefix(name, "./")))
		}
	}
	return all
}

func (t *Tree) says(own, kind string) bool {
	p := t.Packages[own]
	return p != nil && strings.Contains(p.Doc, kind)
}

// under reports whether a package is one of the roots or below one.
func under(name string, roots []string) bool {
	return slices.ContainsFunc(roots, func(root string) bool { return name == root || strings.HasPrefix(name, root+"/") })
}
