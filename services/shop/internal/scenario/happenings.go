package scenario

// TakeIn is a piece that comes in: bought at a Price from a Source, or a Client's.
type TakeIn struct {
	Tag    int32  `json:"tag"`
	Title  string `json:"title"`
	Kind   string `json:"kind"`
	Price  string `json:"price,omitempty"`
	Source string `json:"source,omitempty"`
	Client string `json:"client,omitempty"`
	Parts  []Part `json:"parts"`
}

// Part is a part of a piece, with what was measured of it.
type Part struct {
	Label  string    `json:"label"`
	Count  int32     `json:"count,omitempty"`
	Length *Quantity `json:"length,omitempty"`
	Width  *Quantity `json:"width,omitempty"`
}

// Plan lays out a piece by a route, or by routes of its Parts (label: route).
type Plan struct {
	Piece string            `json:"piece"`
	Route string            `json:"route"`
	Parts map[string]string `json:"parts,omitempty"` // label: route
}

// Learn adds a skill to what somebody can do.
type Learn struct {
	Who   string `json:"who"`
	Skill string `json:"skill"`
}

// StageRef names a stage of a piece.
type StageRef struct {
	Piece string `json:"piece"`
	Stage string `json:"stage"`
}

// Assign gives a stage to somebody, alone or beside who has it.
type Assign struct {
	StageRef
	Who    string `json:"who"`
	Beside bool   `json:"beside,omitempty"`
}

// Target is what somebody is on: a stage, all stages of a Batch, or what belongs to no piece.
type Target struct {
	StageRef
	Batch    string `json:"batch,omitempty"`
	Indirect string `json:"indirect,omitempty"`
}

// Work is a clock-on at the step's time and a clock-off at Until. Without Until something else
// ends it, or nobody does.
type Work struct {
	Target
	Who     string `json:"who"`
	Station string `json:"station,omitempty"` // its word
	Until   string `json:"until,omitempty"`
	// Finish the stage, or the batch, at the end; an inspection passes.
	Finish bool `json:"finish,omitempty"`
	// Why it starts although the part or the air is not ready for it.
	Override string `json:"override,omitempty"`
}

// LeadTest is a test for lead of a part, or with no Part of the whole piece. Its Result is
// free or found.
type LeadTest struct {
	Piece  string `json:"piece"`
	Part   string `json:"part,omitempty"`
	Result string `json:"result"`
}

// SendBack opens a finished stage again.
type SendBack struct {
	StageRef
	Reason string `json:"reason"`
}

// Correct replaces the person's entry that starts at From.
type Correct struct {
	Who    string `json:"who"`
	From   string `json:"from"`
	Start  string `json:"start,omitempty"`
	End    string `json:"end,omitempty"`
	Reason string `json:"reason"`
}

// Receive is a lot that is delivered.
type Receive struct {
	Product  string `json:"product"`
	Package  string `json:"package"`
	Count    int32  `json:"count"`
	Cost     string `json:"cost"`
	Supplier string `json:"supplier"`
}

// Issue is material that goes to a stage, or to all stages of a Batch.
type Issue struct {
	StageRef
	Batch    string   `json:"batch,omitempty"`
	Product  string   `json:"product"`
	Quantity Quantity `json:"quantity"`
}

// TakeBack undoes the last issue of a product to a stage.
type TakeBack struct {
	StageRef
	Product string `json:"product"`
	Reason  string `json:"reason"`
}

// Listing is a piece put up for sale, or a new asking price.
type Listing struct {
	Piece   string `json:"piece"`
	Price   string `json:"price"`
	Channel string `json:"channel,omitempty"`
	Reason  string `json:"reason,omitempty"`
}

// Sale is a piece sold, or a commission invoiced.
type Sale struct {
	Piece   string `json:"piece"`
	Price   string `json:"price"`
	Tax     string `json:"tax,omitempty"`
	Fee     string `json:"fee,omitempty"`
	Channel string `json:"channel,omitempty"`
	Buyer   string `json:"buyer,omitempty"`
}

// Refund is money that goes back for the last sale of a piece.
type Refund struct {
	Piece    string `json:"piece"`
	Price    string `json:"price,omitempty"`
	Tax      string `json:"tax,omitempty"`
	Fee      string `json:"fee,omitempty"`
	Returned bool   `json:"returned,omitempty"`
	Reason   string `json:"reason"`
}

// Scrap gives a piece up.
type Scrap struct {
	Piece  string `json:"piece"`
	Reason string `json:"reason"`
}
