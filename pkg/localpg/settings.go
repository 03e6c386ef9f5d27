package localpg

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// reserved are settings that this package decides, because it has to know the
// answer, with the option to use instead.
var reserved = map[string]string{
	"cluster_name":            "Options.Dir, which it is made of",
	"data_directory":          "Options.Dir",
	"external_pid_file":       "Server.PID",
	"listen_addresses":        "Options.TCP",
	"logging_collector":       "the log in Dir/log",
	"port":                    "Server.HostPort",
	"unix_socket_directories": "Server.HostPort",
}

// settings returns what postgres gets as -c flags, wherever it runs; where it
// listens is up to the endpoint. Small by default: the
// database is one of several parts of a shop on a small machine. The kind of shared
// memory stays as initdb found it to work, for not every machine lets this account
// write to /dev/shm.
func settings(o Options, name string) (map[string]string, error) {
	all := map[string]string{
		"max_connections": "60",
		"shared_buffers":  "32MB",
	}
	if o.Throwaway {
		all["fsync"], all["full_page_writes"], all["synchronous_commit"] = "off", "off", "off"
	}
	for name, value := range o.Settings {
		name = strings.ReplaceAll(strings.ToLower(name), "-", "_") // as postgres reads it
		if instead, ok := reserved[name]; ok {
			return nil, fmt.Errorf("the Postgres setting %s can't be changed here; see %s", name, instead)
		}
		all[name] = value
	}
	all["cluster_name"] = name // ps shows it, see tenantsFromPS
	return all, nil
}

// flags renders settings in a fixed order, so that ps and logs compare well.
func flags(settings map[string]string) []string {
	var args []string
	for _, name := range slices.Sorted(maps.Keys(settings)) {
		args = append(args, "-c", name+"="+settings[name])
	}
	return args
}
