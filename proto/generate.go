// Package proto holds the contracts: one gRPC package for each service, and the
// events in tackfree/events/v1. The generated Go stands beside its source.
//
//	go generate ./proto     prints third_party from the linked descriptors, then lints,
//	                        formats and generates: Go, the routes of HTTP, and their
//	                        document, services/gateway/internal/edge/openapi.json
//
// buf.sh runs buf by version; it is never in go.mod, for it asks for another protobuf
// than the suite uses; the protoc plugins are tools of this module, or in internal/openapi.
package proto

//go:generate go run ./internal/printdeps third_party
//go:generate ./buf.sh format -w --path tackfree
//go:generate ./buf.sh lint
//go:generate ./buf.sh generate
