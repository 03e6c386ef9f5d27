//go:build !planted

package planted

// The bugs. There are none.
const (
	// IDCursor sends events with an id above the last one sent, not those that are unsent.
	IDCursor = false
	// MarkBeforeAck marks events as sent before the broker has acknowledged them.
	MarkBeforeAck = false
	// AckBeforeCommit acknowledges messages before what they tell is committed.
	AckBeforeCommit = false
	// NoVersionCheck applies every event that arrives, whatever its version.
	NoVersionCheck = false
	// DropPoison throws away what it cannot read, and says nothing.
	DropPoison = false
	// BlockOnPoison tries for ever what it cannot read.
	BlockOnPoison = false
	// KeepNothing keeps no answer of a command under its request id.
	KeepNothing = false
	// KeepApart keeps the answer in a transaction after the command's own.
	KeepApart = false
	// AnswerBeforeCommit answers a command although its commit failed.
	AnswerBeforeCommit = false
	// FreshRequestID gives a command again under a new request id.
	FreshRequestID = false
	// FloatMoney multiplies and divides money in floating point.
	FloatMoney = false
)
