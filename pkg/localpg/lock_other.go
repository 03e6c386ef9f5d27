//go:build !unix

package localpg

import "os"

const noFollow = 0

func acquireLock(string, account) (*os.File, error) { return nil, errUnsupported }
