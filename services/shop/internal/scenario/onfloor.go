package scenario

// Station is where work is done and pieces stand.
type Station struct {
	Word       string   `json:"word"`
	Name       string   `json:"name"`
	Kind       string   `json:"kind"` // BENCH, BOOTH, RACK or OUTDOORS
	Capacity   int32    `json:"capacity"`
	Unit       string   `json:"unit"` // PIECES or PARTS
	Open       []string `json:"open,omitempty"`
	Work       []string `json:"work,omitempty"` // kinds of stages; none: any
	Changeover int32    `json:"changeover_minutes,omitempty"`
	Zone       string   `json:"zone,omitempty"`
}

// Move carries a Part, or all of a piece, to a station; with none it stands nowhere.
type Move struct {
	Piece   string `json:"piece"`
	Part    string `json:"part,omitempty"`
	Station string `json:"station,omitempty"`
}

// HandOver gives a stage from one person to another in the middle of it. With ClockOn the other
// goes on at once, until when and to which end as Work says.
type HandOver struct {
	StageRef
	From    string `json:"from"`
	To      string `json:"to"`
	Note    string `json:"note,omitempty"`
	ClockOn bool   `json:"clock_on,omitempty"`
	Until   string `json:"until,omitempty"`
	Finish  bool   `json:"finish,omitempty"`
}

// Claim gives somebody the stage they want.
type Claim struct {
	StageRef
	Who string `json:"who"`
}

// Promise says until when a piece is promised and what it is worth.
type Promise struct {
	Piece string `json:"piece"`
	By    string `json:"by,omitempty"`
	Value string `json:"value,omitempty"`
}

// Pause is a clock that stops at the step's time and goes on at Until.
type Pause struct {
	Who   string `json:"who"`
	Until string `json:"until"`
}

// Batch runs stages of several pieces as one.
type Batch struct {
	Name   string     `json:"name"`
	Stages []StageRef `json:"stages"`
	Split  string     `json:"split,omitempty"` // AREA or EQUAL
}

// Inspect is what somebody found who looked at a stage; BackTo is what has to be done again,
// and with none it passes.
type Inspect struct {
	StageRef
	Who     string   `json:"who"`
	BackTo  string   `json:"back_to,omitempty"`
	Defects []Defect `json:"defects,omitempty"`
	Note    string   `json:"note,omitempty"`
}

// Defect is what is wrong, on which part, with a photo.
type Defect struct {
	Kind  string `json:"kind"`
	Part  string `json:"part,omitempty"`
	Photo string `json:"photo,omitempty"`
	Note  string `json:"note,omitempty"`
}

// SendOut is work that others do on a part, or on the whole piece; Stage is the one that it
// does.
type SendOut struct {
	Piece  string `json:"piece"`
	Part   string `json:"part,omitempty"`
	Stage  string `json:"stage,omitempty"`
	Kind   string `json:"kind"`
	Firm   string `json:"firm"`
	Quoted string `json:"quoted,omitempty"`
	Due    string `json:"due"`
}

// Chase asks after it.
type Chase struct {
	Piece string `json:"piece"`
	Part  string `json:"part,omitempty"`
	Note  string `json:"note"`
	Due   string `json:"due,omitempty"`
}

// Back is its return.
type Back struct {
	Piece   string `json:"piece"`
	Part    string `json:"part,omitempty"`
	Billed  string `json:"billed,omitempty"`
	Station string `json:"station,omitempty"`
}

// Bill corrects what others billed.
type Bill struct {
	Piece  string `json:"piece"`
	Part   string `json:"part,omitempty"`
	Billed string `json:"billed"`
	Reason string `json:"reason"`
}

// Sent is an entry that a device kept while it was offline, sent at the step's time. Ahead is
// how far its clock is ahead, such as 40s.
type Sent struct {
	Target
	Who    string `json:"who"`
	Start  string `json:"start"`
	End    string `json:"end,omitempty"`
	Device string `json:"device"`
	Ahead  string `json:"ahead,omitempty"`
}

// Settle settles the oldest thing about somebody's clocks that the lead has to settle: when the
// work Ended, or that what was sent counts (Accept) or does not (neither).
type Settle struct {
	Who       string `json:"who"`
	Ended     string `json:"ended,omitempty"`
	Accept    bool   `json:"accept,omitempty"`
	Start     string `json:"start,omitempty"`
	End       string `json:"end,omitempty"`
	CutOthers bool   `json:"cut_others,omitempty"`
	Reason    string `json:"reason"`
}

// LockWeek closes the week of a day.
type LockWeek struct {
	Day string `json:"day"`
}
