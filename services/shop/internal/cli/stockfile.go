package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"

	"google.golang.org/grpc"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/grpcx"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/shop/internal/client"
	"tackfree/services/shop/internal/report"
)

type importStockCmd struct {
	command
	File   string `arg:"" type:"existingfile" help:"Its first line names the columns, as stock export writes them; one that is left out leaves what is known."`
	Offers bool   `help:"It is of suppliers and what they ask, in place of products."`
	DryRun bool   `help:"Say what would be done, and do nothing."`
}

// Help implements kong.HelpProvider.
func (importStockCmd) Help() string {
	return "Products, or suppliers and offers, of a known name are changed, others added, and none is taken away. " +
		"With a single line that cannot be taken nothing is changed, and each that is wrong is listed."
}

// imported is what became of a file.
type imported interface {
	proto.Message
	GetAdded() int32
	GetChanged() int32
	GetUnchanged() int32
	GetRejections() []*materialsv1.ImportProductsResponse_Rejection
	GetRejectionCount() int32
}

func (c *importStockCmd) Run(e *env) error {
	file, err := os.ReadFile(c.File)
	if err != nil {
		return err
	}
	return e.with(func(shop *client.Shop) error {
		shown := e.waiting("taking over "+filepath.Base(c.File), c.JSON)
		resp, err := c.send(e.ctx, shop, file)
		shown.end()
		if unsure := new(grpcx.Unsure); c.DryRun && errors.As(err, unsure) {
			return unsure.Unwrap() // a dry run does nothing, whatever became of it
		}
		if err != nil {
			return err
		}
		if resp.GetRejectionCount() > 0 {
			err = fmt.Errorf("%s: %s wrong, so nothing was changed", c.File, things(resp.GetRejectionCount()))
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

// send sends the file as what it is of.
func (c *importStockCmd) send(ctx context.Context, shop *client.Shop, file []byte) (imported, error) {
	if c.Offers {
		stream, err := shop.Suppliers.ImportOffers(ctx)
		if err != nil {
			return nil, err
		}
		return inParts(file, stream, func(csv []byte) *materialsv1.ImportOffersRequest {
			return &materialsv1.ImportOffersRequest{RequestId: c.request(), DryRun: c.DryRun, Csv: csv}
		})
	}
	stream, err := shop.Catalogue.ImportProducts(ctx)
	if err != nil {
		return nil, err
	}
	return inParts(file, stream, func(csv []byte) *materialsv1.ImportProductsRequest {
		return &materialsv1.ImportProductsRequest{RequestId: c.request(), DryRun: c.DryRun, Csv: csv}
	})
}

// inParts sends a file in parts. When the shop takes no more of it, its answer says why.
func inParts[R, A any](file []byte, stream grpc.ClientStreamingClient[R, A], part func(csv []byte) *R) (*A, error) {
	for csv := range slices.Chunk(file, partSize) {
		err := stream.Send(part(csv))
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
func (c *importStockCmd) say(e *env, r imported) error {
	if r.GetRejectionCount() == 0 {
		what, how := "products", "%d %s are added, %d changed, %d were so already.\n"
		if c.Offers {
			what = "offers"
		}
		if c.DryRun {
			how = "%d %s would be added, %d changed, %d are so already; nothing was done.\n"
		}
		_, err := fmt.Fprintf(e.out, how, r.GetAdded(), what, r.GetChanged(), r.GetUnchanged())
		return err
	}
	return printRejections(e, r)
}

func printRejections(e *env, r imported) error {
	t := &report.Table{Headings: []string{" row", "column", "what is wrong"}}
	for _, w := range r.GetRejections() {
		t.Add(fmt.Sprint(w.Row), orDash(w.Column), w.Reason)
	}
	if more := int(r.GetRejectionCount()) - len(r.GetRejections()); more > 0 {
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

type exportStockCmd struct {
	csvOutput
	Offers bool `help:"Suppliers and what they ask, in place of products."`
}

func (c *exportStockCmd) Run(e *env) error {
	return e.with(func(shop *client.Shop) error {
		file, err := c.read(e.ctx, shop)
		if err != nil {
			return err
		}
		return c.write(e, file)
	})
}

func (c *exportStockCmd) read(ctx context.Context, shop *client.Shop) ([]byte, error) {
	if c.Offers {
		stream, err := shop.Suppliers.ExportOffers(ctx, &materialsv1.ExportOffersRequest{})
		if err != nil {
			return nil, err
		}
		return whole(stream.Recv)
	}
	stream, err := shop.Catalogue.ExportProducts(ctx, &materialsv1.ExportProductsRequest{})
	if err != nil {
		return nil, err
	}
	return whole(stream.Recv)
}

// whole puts a file together of its parts.
func whole[P interface{ GetCsv() []byte }](next func() (P, error)) ([]byte, error) {
	var file bytes.Buffer
	for {
		part, err := next()
		if errors.Is(err, io.EOF) {
			return file.Bytes(), nil
		}
		if err != nil {
			return nil, err
		}
		file.Write(part.GetCsv())
	}
}
