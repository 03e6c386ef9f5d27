package localpg

import (
	"cmp"
	"fmt"
	"path"
	"slices"
	"strings"
)

// recipe is how one kind of system installs Postgres.
type recipe struct {
	manager string     // program that must be in PATH
	before  [][]string // commands that come first
	env     string     // variable to set for install, as NAME=value
	install []string
	after   [][]string // commands that run even if install failed
	asUser  bool       // must not run as root
}

// commands lists what comes up to and with the installation. env is a program
// here, because sudo passes no variables on.
func (r recipe) commands() [][]string {
	install := r.install
	if r.env != "" {
		install = append([]string{"env", r.env}, install...)
	}
	return append(slices.Clone(r.before), install)
}

// createCluster is a Debian setting. Its packages create a system-wide cluster
// and start it on port 5432, which nobody asked for; this file, which lies
// there only during the installation, makes them leave it.
const createCluster = "/etc/postgresql-common/createcluster.d/tackfree.conf"

// recipeFor chooses by the most specific name in os-release.
func recipeFor(s system) (recipe, error) {
	if s.goos == "darwin" {
		return recipe{manager: "brew", install: []string{"brew", "install", "postgresql@17"}, asUser: true}, nil
	}
	for _, id := range s.ids {
		switch id {
		case "debian", "ubuntu":
			return debianRecipe(), nil
		case "amzn":
			return amazonRecipe(s.version), nil
		case "rhel", "centos", "fedora":
			return redHatRecipe(s), nil
		case "suse", "opensuse":
			return recipe{manager: "zypper", install: []string{"zypper", "--non-interactive", "install", "--no-recommends", "postgresql-server"}}, nil
		case "alpine":
			return recipe{manager: "apk", install: []string{"apk", "add", "--no-cache", "postgresql"}}, nil
		case "arch":
			return recipe{manager: "pacman", install: []string{"pacman", "-S", "--noconfirm", "--needed", "postgresql"}}, nil
		}
	}
	return recipe{}, fmt.Errorf("it is not known how this system (%s) installs Postgres", cmp.Or(strings.Join(s.ids, " "), s.goos))
}

func debianRecipe() recipe {
	return recipe{
		manager: "apt-get",
		before: [][]string{
			{"apt-get", "update"},
			{"sh", "-c", "mkdir -p " + path.Dir(createCluster) + " && echo 'create_main_cluster = false' > " + createCluster},
		},
		env:     "DEBIAN_FRONTEND=noninteractive", // nobody is there to answer questions
		install: []string{"apt-get", "install", "-y", "--no-install-recommends", "postgresql"},
		after:   [][]string{{"rm", "-f", createCluster}},
	}
}

func amazonRecipe(version string) recipe {
	if version == "2" {
		return recipe{
			manager: "yum",
			before:  [][]string{{"amazon-linux-extras", "enable", "postgresql14"}},
			install: []string{"yum", "install", "-y", "postgresql-server"},
		}
	}
	return recipe{manager: "dnf", install: []string{"dnf", "install", "-y", "postgresql15-server"}}
}

// redHatRecipe switches releases 8 and 9 to a newer stream: theirs by default
// is older than what is needed. Release 7 has yum and only Postgres 9.
func redHatRecipe(s system) recipe {
	r := recipe{manager: "dnf", install: []string{"dnf", "install", "-y", "postgresql-server"}}
	release, _, _ := strings.Cut(s.version, ".")
	isFedora := len(s.ids) > 0 && s.ids[0] == "fedora"
	switch {
	case isFedora:
	case release == "8" || release == "9":
		r.before = [][]string{{"dnf", "module", "enable", "-y", "postgresql:15"}}
	case release == "7":
		r.manager, r.install[0] = "yum", "yum"
	}
	return r
}
