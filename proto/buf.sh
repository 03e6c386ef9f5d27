#!/bin/sh
# Runs buf: the one that BUF names, or else the version below, built from source.
exec ${BUF:-go run github.com/bufbuild/buf/cmd/buf@v1.75.0} "$@"
