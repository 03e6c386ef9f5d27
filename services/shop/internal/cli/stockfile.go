package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"

	"tackfree/pkg/grpcx"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type importStockCmd struct {
	command
	File   string `arg:"" type:"existingfile" help:"Its first line names the columns, as stock export writes them; one that is left out leaves what is known."`
	DryRun bool   `help:"Say what would be done, and do nothing."`
}

// Help implements kong.HelpProvider.
func (importStockCmd) Help() string {
	return "Products of a known name are changed, others added. With a single line that cannot be taken nothing is changed, and each that is wrong is listed."
}

func (c *importStockCmd) Run(e *env) error {
	file, err := os.ReadFile(c.File)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		resp, err := c.send(e.ctx, shop, file)
		if unsure := new(grpcx.Unsure); c.DryRun && errors.As(err, unsure) {
			return unsure.Unwrap() // a dry run does nothing, whatever became of it
		}
		if err != nil {
			return err
		}
		if resp.RejectionCount > 0 {
			err = fmt.Errorf("%s: %s wrong, so nothing was changed", c.File, things(resp.RejectionCount))
		}
		return errors.Join(c.print(e, resp, func() error { return c.say(e, resp) }), err)
	})
}

// things says how many things are.
func things(n int32) string {
	if n == 1 {
		return "1 thing is"
	}
	return fmt.Sprintf("%d things are", n)
}

// partSize is as much of a file as is sent at once; the contract takes twice that.
const partSize = 256 << 10

// send sends the file in parts. When the shop takes no more of it, its answer says why.
func (c *importStockCmd) send(ctx context.Context, shop *client.Shop, file []byte) (*materialsv1.ImportProductsResponse, error) {
	stream, err := shop.Catalogue.ImportProducts(ctx)
	if err != nil {
		return nil, err
	}
	for part := range slices.Chunk(file, partSize) {
		err := stream.Send(&materialsv1.ImportProductsRequest{RequestId: c.request(), DryRun: c.DryRun, Csv: part})
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
	}
	return stream.CloseAndRecv()
}

// say prints what became of the file, or what is wrong with it.
func (c *importStockCmd) say(e *env, r *materialsv1.ImportProductsResponse) error {
	if r.RejectionCount == 0 {
		how := "%d products are added, %d changed, %d were so already.\n"
		if c.DryRun {
			how = "%d products would be added, %d changed, %d are so already; nothing was done.\n"
		}
		_, err := fmt.Fprintf(e.out, how, r.Added, r.Changed, r.Unchanged)
		return err
	}
	t := &report.Table{Headings: []string{" row", "column", "what is wrong"}}
	for _, w := range r.Rejections {
		t.Add(fmt.Sprint(w.Row), orDash(w.Column), w.Reason)
	}
	if more := int(r.RejectionCount) - len(r.Rejections); more > 0 {
		t.Add("…", "", fmt.Sprintf("and %d more", more))
	}
	return t.Print(e.out)
}

// csvOutput is how a command gives a table of values separated by commas.
type csvOutput struct {
	output
	Out string `help:"The file to write it to; without it, it is printed." type:"path" placeholder:"FILE"`
}

// write gives the table. As JSON it is one text, as other answers have it.
func (o csvOutput) write(e *env, csv []byte) error {
	switch {
	case o.Out != "":
		return os.WriteFile(o.Out, csv, 0o644)
	case o.JSON:
		b, err := json.Marshal(map[string]string{"csv": string(csv)})
		if err != nil {
			return err
		}
		return writeJSON(e.out, b)
	}
	_, err := e.out.Write(csv)
	return err
}

type exportStockCmd struct{ csvOutput }

func (c *exportStockCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		stream, err := shop.Catalogue.ExportProducts(e.ctx, &materialsv1.ExportProductsRequest{})
		if err != nil {
			return err
		}
		var file bytes.Buffer
		for {
			part, err := stream.Recv()
			if errors.Is(err, io.EOF) {
				return c.write(e, file.Bytes())
			}
			if err != nil {
				return err
			}
			file.Write(part.Csv)
		}
	})
}
