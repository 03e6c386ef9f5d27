// Package e2e tells whole stories through the public interfaces of a running shop: a
// piece from purchase to sale, the broker's stream deleted on the way, each service
// killed between commit and publish. It holds tests only.
package e2e
