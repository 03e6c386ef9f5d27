package localpg

import "syscall"

// dieWithParent asks the kernel to send the child a SIGINT, Postgres' fast
// shutdown, when the thread that forked it ends; see spawn for the thread.
// Go makes the request after the change of user, which would clear it.
func dieWithParent(attr *syscall.SysProcAttr) { attr.Pdeathsig = syscall.SIGINT }
