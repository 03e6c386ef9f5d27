//go:build !linux

package localpg

import "syscall"

// dieWithParent does nothing: this system has no death signal. The next Start
// stops the orphan instead.
func dieWithParent(*syscall.SysProcAttr) {}
