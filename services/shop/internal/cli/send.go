package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"time"

	"github.com/google/uuid"

	"tackfree/pkg/fault"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
	"tackfree/services/shop/internal/client"
)

// sendCmd sends one entry by flags, or those of a file.
type sendCmd struct {
	command
	Who string `arg:"" optional:"" help:"Display name."`
	targetArgs
	cautionFlags
	Entry      string `help:"In place of what it is on: the entry, by its id, that was begun online and that this ends." placeholder:"ID"`
	Start      string `help:"When the work began by the device's clock, as --at says times elsewhere." placeholder:"TIME"`
	End        string `help:"When it ended; without it the clock runs on." placeholder:"TIME"`
	Station    string `help:"Where it was done." placeholder:"STATION"`
	Device     string `help:"What kept it." placeholder:"NAME"`
	DeviceTime string `help:"What the device's clock shows now; without it, what this one shows." placeholder:"TIME"`
	File       string `help:"A file with an entry as JSON on each line, with the same words: who, piece, stage, batch, indirect, entry, start, end, station, acknowledge, device, device_time." type:"existingfile" placeholder:"FILE"`
}

// Help implements kong.HelpProvider.
func (sendCmd) Help() string {
	return "Each entry is kept, in any order. What cannot be counted as it is goes to the lead with what it contradicts: `shop clock review list`. " +
		"A line of a file that is sent again is the same entry."
}

// kept is an entry that a device kept, in the words people use.
type kept struct {
	Who         string   `json:"who"`
	Piece       tag      `json:"piece"`
	Stage       string   `json:"stage"`
	Batch       string   `json:"batch"`
	Indirect    string   `json:"indirect"`
	Entry       string   `json:"entry"`
	Start       string   `json:"start"`
	End         string   `json:"end"`
	Station     string   `json:"station"`
	Acknowledge []string `json:"acknowledge"`
	Device      string   `json:"device"`
	DeviceTime  string   `json:"device_time"`
	RequestID   string   `json:"request_id"`

	line int // in the file
}

// tag is a piece's number, as a number or as text.
type tag string

// UnmarshalJSON implements json.Unmarshaler.
func (t *tag) UnmarshalJSON(b []byte) error {
	var n json.Number
	if err := json.Unmarshal(b, &n); err != nil {
		return fmt.Errorf("piece: %s is not the number on a tag", b)
	}
	*t = tag(n)
	return nil
}

func (c *sendCmd) Run(e *env) error {
	if (c.File == "") == (c.Who == "") {
		return errors.New("say whose entry it is, or --file, not both")
	}
	entries, err := c.entries()
	if len(entries) == 0 {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		for _, k := range entries {
			if failed := c.send(e, shop, k); failed != nil {
				err = errors.Join(err, c.inFile(k.line, failed))
			}
		}
		return err
	})
}

// send sends one entry and says what became of it.
func (c *sendCmd) send(e *env, shop *client.Shop, k kept) error {
	r, err := k.request(e, shop)
	if err != nil {
		return err
	}
	resp, err := shop.Clocks.SendClockEntry(e.ctx, r)
	if err != nil {
		return err
	}
	return c.print(e, resp, func() error { return saySent(e, k, resp) })
}

// inFile says in which line of the file something is wrong, in words: of several lines each is
// to be read.
func (c *sendCmd) inFile(line int, err error) error {
	if c.File == "" {
		return err
	}
	text := err.Error()
	if f := fault.Of(err); f != nil {
		text = fmt.Sprintf("%s (%s)", f.Text, f.Reason)
	}
	return fmt.Errorf("%s, line %d: %s", c.File, line, text)
}

// entries are what is to be sent.
func (c *sendCmd) entries() ([]kept, error) {
	if c.File != "" {
		return c.lines()
	}
	k := kept{Who: c.Who, Piece: tag(c.Piece), Stage: c.Stage, Batch: c.Batch, Indirect: c.Indirect, Entry: c.Entry, Start: c.Start, End: c.End,
		Station: c.Station, Acknowledge: c.cautions(), Device: c.Device, DeviceTime: c.DeviceTime, RequestID: c.request()}
	if k.Device == "" {
		return nil, errors.New("say what kept the entry: --device")
	}
	if k.DeviceTime == "" { // given again, the line says anew what the clock shows
		k.DeviceTime = time.Now().UTC().Format(time.RFC3339)
	}
	return []kept{k}, nil
}

// lines reads the file. Flags say what a line does not; a line that cannot be read does not keep
// the others from being sent.
func (c *sendCmd) lines() (out []kept, err error) {
	text, err := os.ReadFile(c.File)
	if err != nil {
		return nil, err
	}
	n := 0
	for line := range bytes.Lines(text) {
		n++
		if len(bytes.TrimSpace(line)) == 0 {
			continue
		}
		k := kept{Device: c.Device, DeviceTime: c.DeviceTime, line: n}
		if bad := k.read(line, c.RequestID); bad != nil {
			err = errors.Join(err, c.inFile(n, bad))
			continue
		}
		out = append(out, k)
	}
	return out, err
}

// lineSpace is where ids of lines are made from their text.
var lineSpace = uuid.MustParse("5b0d64f4-6ad5-4d2c-9c0b-1f0c2f0b6f5e")

// read reads a line. Its request id follows from what it says but for what the device's clock shows
// meanwhile, so that a line that is sent again is the same entry.
func (k *kept) read(line []byte, under string) error {
	d := json.NewDecoder(bytes.NewReader(line))
	d.DisallowUnknownFields()
	if err := d.Decode(k); err != nil {
		return err
	}
	switch {
	case k.Who == "":
		return errors.New("it does not say who")
	case k.Device == "" || k.DeviceTime == "":
		return errors.New("it does not say device and device_time; say them there, or by --device and --device-time for all lines")
	case k.RequestID == "":
		return k.identify(under)
	}
	return nil
}

// identify makes the request id from what the line says.
func (k *kept) identify(under string) error {
	said := *k
	said.DeviceTime = ""
	text, err := json.Marshal(said)
	k.RequestID = uuid.NewSHA1(lineSpace, append([]byte(under), text...)).String()
	return err
}

// request finds what the words mean.
func (k *kept) request(e *env, shop *client.Shop) (*workflowv1.SendClockEntryRequest, error) {
	who, err := shop.Person(e.ctx, k.Who)
	if err != nil {
		return nil, err
	}
	r := &workflowv1.SendClockEntryRequest{RequestId: k.RequestID, Person: who.Name, Device: k.Device, AcknowledgedCautions: k.Acknowledge}
	if k.Entry != "" {
		r.ClockEntry = "clockEntries/" + bare(k.Entry)
	} else {
		on, err := targetArgs{Piece: string(k.Piece), Stage: k.Stage, Batch: k.Batch, Indirect: k.Indirect}.find(e.ctx, shop)
		if err != nil {
			return nil, err
		}
		r.Stage, r.Batch, r.Indirect = on.stage, on.batch, on.indirect
	}
	if r.Station, err = optionalStation(e, shop, k.Station); err != nil {
		return nil, err
	}
	return r, k.times(e.ctx, shop, r)
}

func (k *kept) times(ctx context.Context, shop *client.Shop, r *workflowv1.SendClockEntryRequest) (err error) {
	if r.StartTime, err = instant(ctx, shop, k.Start); err != nil {
		return err
	}
	if r.EndTime, err = instant(ctx, shop, k.End); err != nil {
		return err
	}
	r.DeviceTime, err = instant(ctx, shop, k.DeviceTime)
	return err
}

// saySent says what became of a sent entry.
func saySent(e *env, k kept, resp *workflowv1.SendClockEntryResponse) error {
	what := "it counts"
	if resp.ClockReview != "" {
		what = "the lead has to settle it: shop clock review settle " + bare(resp.ClockReview)
	}
	_, err := fmt.Fprintf(e.out, "%s, %s to %s, kept by %s: %s.\n", k.Who, orDash(k.Start), orDash(k.End), k.Device, what)
	return err
}

func orDash(text string) string {
	if text == "" {
		return "–"
	}
	return text
}
