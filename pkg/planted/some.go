//go:build planted

package planted

import "os"

// The bugs; this process has the one that its environment names.
var (
	IDCursor           = named("IDCursor")
	MarkBeforeAck      = named("MarkBeforeAck")
	AckBeforeCommit    = named("AckBeforeCommit")
	NoVersionCheck     = named("NoVersionCheck")
	DropPoison         = named("DropPoison")
	BlockOnPoison      = named("BlockOnPoison")
	KeepNothing        = named("KeepNothing")
	KeepApart          = named("KeepApart")
	AnswerBeforeCommit = named("AnswerBeforeCommit")
	FreshRequestID     = named("FreshRequestID")
	FloatMoney         = named("FloatMoney")
)

func named(bug string) bool { return os.Getenv(Env) == bug }
