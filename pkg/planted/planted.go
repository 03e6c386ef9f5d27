// Package planted is bugs that somebody could well have written, so that the fault tests can
// prove that they would catch them. Plumbing.
//
// In every build that is shipped each of them is a constant, and false: the compiler leaves
// out what hangs on it. Built with the tag planted they are read from the environment, where
// a test names the one that a process is to have:
//
//	TACKFREE_PLANTED=IDCursor
//
// Where a bug is planted, its branch is the whole of it, and as short as the mistake would be.
package planted

// Env is the variable that names the bug.
const Env = "TACKFREE_PLANTED"
