//go:build unix

package localpg

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestRecipeFor(t *testing.T) {
	debian := []string{
		"apt-get update",
		"sh -c 'mkdir -p /etc/postgresql-common/createcluster.d && echo '\\''create_main_cluster = false'\\'' > /etc/postgresql-common/createcluster.d/tackfree.conf'",
		"env DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends postgresql",
		"rm -f /etc/postgresql-common/createcluster.d/tackfree.conf",
	}
	for _, test := range []struct {
		name, goos, release string
		want                []string
	}{
		{"Debian", "linux", "PRETTY_NAME=\"Debian GNU/Linux 12\"\nID=debian\nVERSION_ID=\"12\"\n", debian},
		{"Ubuntu", "linux", "ID=ubuntu\nID_LIKE=debian\nVERSION_ID=\"24.04\"", debian},
		{"Mint", "linux", "ID=linuxmint\nID_LIKE=\"ubuntu debian\"", debian},
		{"Fedora", "linux", "ID=fedora\nVERSION_ID=42", []string{"dnf install -y postgresql-server"}},
		{"Rocky9", "linux", "ID=\"rocky\"\nID_LIKE=\"rhel centos fedora\"\nVERSION_ID=\"9.4\"", []string{"dnf module enable -y postgresql:15", "dnf install -y postgresql-server"}},
		{"Oracle8", "linux", "ID=ol\nID_LIKE=fedora\nVERSION_ID=8.10", []string{"dnf module enable -y postgresql:15", "dnf install -y postgresql-server"}},
		{"RedHat10", "linux", "ID=rhel\nID_LIKE=fedora\nVERSION_ID=10.0", []string{"dnf install -y postgresql-server"}},
		{"CentOS7", "linux", "ID=centos\nID_LIKE=\"rhel fedora\"\nVERSION_ID=7", []string{"yum install -y postgresql-server"}},
		{"Amazon2023", "linux", "ID=amzn\nID_LIKE=fedora\nVERSION_ID=2023", []string{"dnf install -y postgresql15-server"}},
		{"Amazon2", "linux", "ID=amzn\nID_LIKE=\"centos rhel fedora\"\nVERSION_ID=2", []string{"amazon-linux-extras enable postgresql14", "yum install -y postgresql-server"}},
		{"Leap", "linux", "ID=opensuse-leap\nID_LIKE='suse opensuse'", []string{"zypper --non-interactive install --no-recommends postgresql-server"}},
		{"Alpine", "linux", "ID=alpine", []string{"apk add --no-cache postgresql"}},
		{"Arch", "linux", "ID=arch", []string{"pacman -S --noconfirm --needed postgresql"}},
		{"Manjaro", "linux", "ID=manjaro\nID_LIKE=arch", []string{"pacman -S --noconfirm --needed postgresql"}},
		{"macOS", "darwin", "", []string{"brew install postgresql@17"}},
	} {
		t.Run(test.name, func(t *testing.T) {
			s := parseOSRelease(test.release)
			s.goos = test.goos
			r, err := recipeFor(s)
			if err != nil {
				t.Fatalf("recipeFor() = %v", err)
			}
			var got []string
			for _, command := range append(r.commands(), r.after...) {
				got = append(got, shellText(command))
			}
			if diff := cmp.Diff(test.want, got); diff != "" {
				t.Errorf("recipeFor() (-want +got)\n%s", diff)
			}
		})
	}
	t.Run("Unknown", func(t *testing.T) {
		_, err := recipeFor(system{goos: "linux", ids: []string{"plan10"}})
		wantText(t, err, "plan10")
	})
}

// fakeManager puts programs into PATH that note how they were called.
func fakeManager(t *testing.T, bodies map[string]string) (calls func() []string) {
	t.Helper()
	bin, log := t.TempDir(), filepath.Join(t.TempDir(), "calls")
	for name, body := range bodies {
		script(t, filepath.Join(bin, name), `echo "`+name+` $*" >> `+log+"\n"+body)
	}
	t.Setenv("PATH", bin)
	return func() []string {
		text, _ := os.ReadFile(log)
		return strings.Split(strings.TrimSpace(string(text)), "\n")
	}
}

func TestInstall(t *testing.T) {
	silent := func(string) {}
	debian := system{goos: "linux", ids: []string{"debian"}}
	const install = "env DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends postgresql"
	debianCalls := func(prefix string) []string {
		r := debianRecipe()
		calls := []string{prefix + "apt-get update"}
		if prefix == "" {
			return append(calls, strings.Join(r.before[1], " "), install, strings.Join(r.after[0], " "))
		}
		return append(calls, prefix+strings.Join(r.before[1], " "), prefix+install, prefix+strings.Join(r.after[0], " "))
	}

	t.Run("AsRoot", func(t *testing.T) {
		calls := fakeManager(t, map[string]string{"apt-get": "", "sh": "", "env": "", "rm": ""})
		root := debian
		root.root = true
		if err := root.install(t.Context(), silent); err != nil {
			t.Fatalf("install() = %v", err)
		}
		if diff := cmp.Diff(debianCalls(""), calls()); diff != "" {
			t.Errorf("calls (-want +got)\n%s", diff)
		}
	})
	t.Run("BySudo", func(t *testing.T) {
		calls := fakeManager(t, map[string]string{"apt-get": "exit 1", "sudo": ""})
		if err := debian.install(t.Context(), silent); err != nil {
			t.Fatalf("install() = %v", err)
		}
		want := append([]string{"sudo -n true"}, debianCalls("sudo -n ")...)
		if diff := cmp.Diff(want, calls()); diff != "" {
			t.Errorf("calls (-want +got)\n%s", diff)
		}
	})
	t.Run("SudoWantsAPassword", func(t *testing.T) {
		calls := fakeManager(t, map[string]string{"apt-get": "", "sudo": "exit 1"})
		err := debian.install(t.Context(), silent)
		wantText(t, err, "needs root", "sudo apt-get install")
		if got := calls(); len(got) != 1 {
			t.Errorf("calls = %q, want only the question", got)
		}
	})
	t.Run("FailureSaysWhyAndTidiesUp", func(t *testing.T) {
		calls := fakeManager(t, map[string]string{"apt-get": "", "sh": "", "env": "echo no space left; exit 100", "rm": ""})
		root := debian
		root.root = true
		wantText(t, root.install(t.Context(), silent), "apt-get install", "exit status 100", "no space left")
		if got := calls(); !strings.HasPrefix(got[len(got)-1], "rm -f ") {
			t.Errorf("the last call is %q, want the removal of the Debian setting", got[len(got)-1])
		}
	})
	t.Run("NoManager", func(t *testing.T) {
		fakeManager(t, nil)
		wantText(t, debian.install(t.Context(), silent), "no apt-get in PATH")
	})
	t.Run("BrewIsNotForRoot", func(t *testing.T) {
		fakeManager(t, map[string]string{"brew": ""})
		wantText(t, system{goos: "darwin", root: true}.install(t.Context(), silent), "normal user")
	})
}
