package server_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"google.golang.org/grpc"

	"tackfree/pkg/fault"
	"tackfree/pkg/svctest"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
)

// sends gives an import of a whole file in parts.
func (b *bundle) sends(ctx context.Context, r *materialsv1.ImportProductsRequest, opts ...grpc.CallOption) (*materialsv1.ImportProductsResponse, error) {
	stream, err := b.catalogue().ImportProducts(ctx, opts...)
	if err != nil {
		return nil, err
	}
	for part := range slices.Chunk(r.Csv, 300<<10) {
		err := stream.Send(&materialsv1.ImportProductsRequest{RequestId: r.RequestId, DryRun: r.DryRun, Csv: part})
		if errors.Is(err, io.EOF) {
			break // CloseAndRecv says why
		}
		if err != nil {
			return nil, err
		}
	}
	return stream.CloseAndRecv()
}

func fileOf(lines ...string) *materialsv1.ImportProductsRequest {
	return &materialsv1.ImportProductsRequest{RequestId: svctest.NewID(), Csv: []byte(strings.Join(lines, "\n"))}
}

func (b *bundle) imports(t *testing.T, r *materialsv1.ImportProductsRequest) *materialsv1.ImportProductsResponse {
	t.Helper()
	resp, err := b.sends(svctest.Ctx(t), r)
	if err != nil {
		t.Fatal(err)
	}
	return resp
}

func (b *bundle) export(t *testing.T) []byte {
	t.Helper()
	stream, err := b.catalogue().ExportProducts(t.Context(), &materialsv1.ExportProductsRequest{})
	if err != nil {
		t.Fatal(err)
	}
	var file bytes.Buffer
	for {
		part, err := stream.Recv()
		if errors.Is(err, io.EOF) {
			return file.Bytes()
		}
		if err != nil {
			t.Fatal(err)
		}
		file.Write(part.Csv)
	}
}

// stocked is a shop with some products, one with everything there is to say.
func stocked(t *testing.T) *bundle {
	t.Helper()
	b := setup(t)
	p := b.add(t, shellac())
	b.setThreshold(t, threshold(p.Name, of("1", "gal")))
	b.setSheet(t, sheetOf(p.Name, clearCoat()))
	if _, err := b.catalogue().DescribeProduct(svctest.Ctx(t), about(p.Name, spirit())); err != nil {
		t.Fatal(err)
	}
	b.receive(t, delivery(p.Name, "3", 30_00))
	for _, name := range []string{`=cmd|" /C calc"!A0`, "Ölfarbe, „matt“", "'+1"} {
		r := shellac()
		r.DisplayName, r.Unit, r.Packages = name, "lb", []*materialsv1.Package{{Label: `a; "b" = c\`, Content: of("0.12345678901234567890", "oz")}}
		b.add(t, r)
	}
	return b
}

// What was exported changes nothing where it came from, and makes the same shop elsewhere.
func TestServer_ExportProducts_RoundTrip(t *testing.T) {
	b := stocked(t)
	file := b.export(t)
	events := len(b.Events(t))
	r := &materialsv1.ImportProductsRequest{RequestId: svctest.NewID(), Csv: file}
	same(t, "imported where it came from", &materialsv1.ImportProductsResponse{Applied: true, Unchanged: 4}, b.imports(t, r))
	if n := len(b.Events(t)); n != events {
		t.Errorf("%d events of an import that changes nothing", n-events)
	}
	if again := b.export(t); !bytes.Equal(file, again) {
		t.Errorf("exported\n%s\nand then\n%s", file, again)
	}
	other := setup(t)
	same(t, "imported into an empty shop", &materialsv1.ImportProductsResponse{Applied: true, Added: 4}, other.imports(t, r))
	if again := other.export(t); !bytes.Equal(file, again) {
		t.Errorf("exported\n%s\nand from another shop\n%s", file, again)
	}
	other.dense(t)
}

func TestServer_ImportProducts(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	b.receive(t, delivery(p.Name, "3", 30_00))
	r := fileOf("name,unit,packages,restock_threshold,category", "Dewaxed shellac,gal,quart can=1 qt,5 L,Topcoat", "Paste wax,lb,,,wax")
	r.DryRun = true
	before := b.export(t)
	same(t, "dry run", &materialsv1.ImportProductsResponse{Added: 1, Changed: 1}, b.imports(t, r))
	if !bytes.Equal(before, b.export(t)) || len(b.Events(t)) != 2 {
		t.Error("a dry run changed something")
	}
	r.DryRun = false
	want := &materialsv1.ImportProductsResponse{Applied: true, Added: 1, Changed: 1}
	same(t, "ImportProducts", want, b.imports(t, r))
	same(t, "asked again", want, b.imports(t, r))

	got, err := b.GetProduct(t.Context(), &materialsv1.GetProductRequest{Name: p.Name})
	if err != nil {
		t.Fatal(err)
	}
	if p := got.Product; p.RestockThreshold.GetValue() != "5" || p.OnHand.GetValue() != "3" || p.Value.GetUnits() != 30 || !p.Low || len(p.Packages) != 1 || p.Details.GetCategory() != "topcoat" {
		t.Errorf("GetProduct = %v", p)
	}
	var told []string
	for _, e := range b.Events(t)[2:] {
		told = append(told, fmt.Sprintf("%T %d", e.Payload, e.Version))
		if e.RequestId != r.RequestId || e.Actor != svctest.Actor {
			t.Errorf("envelope = %v", e)
		}
	}
	if got, want := strings.ReplaceAll(strings.Join(told, ", "), "*eventsv1.Envelope_", ""),
		"RestockThresholdSet 3, StockLow 4, ProductDescribed 5, ProductAdded 1, ProductDescribed 2"; got != want {
		t.Errorf("events = %s, want %s", got, want)
	}
	b.dense(t)
}

// With one bad row nothing is done, and the answer says what is wrong with it.
func TestServer_ImportProducts_AllOrNothing(t *testing.T) {
	b := setup(t)
	p := b.add(t, shellac())
	b.receive(t, delivery(p.Name, "3", 30_00))
	b.offer(t, offerOf(b.supplier(t, "Paint store"), p.Name, "quart can"))
	before, events := b.export(t), len(b.Events(t))
	r := fileOf("name,unit,packages,density_grams_per_ml", "Paste wax,g,,0.9", "Dewaxed shellac,g,,", `Oil,L,,"0,9"`, "dewaxed Shellac ,L,,")
	for _, dry := range []bool{true, false} {
		r.DryRun = dry
		got := b.imports(t, r)
		var told []string
		for _, w := range got.Rejections {
			told = append(told, fmt.Sprintf("%d %s", w.Row, w.Column))
		}
		if strings.Join(told, ", ") != "3 unit, 4 density_grams_per_ml, 5 name" || got.RejectionCount != 3 || got.Applied || got.Added+got.Changed+got.Unchanged != 0 {
			t.Errorf("ImportProducts = %v", got)
		}
	}
	if got := b.imports(t, fileOf("name,packages", "Dewaxed shellac,drum=200 L")); len(got.Rejections) != 1 || !strings.Contains(got.Rejections[0].Reason, "Paint store") {
		t.Errorf("ImportProducts without what is offered = %v", got)
	}
	if !bytes.Equal(before, b.export(t)) || len(b.Events(t)) != events {
		t.Error("rejected, but something changed")
	}
	r = fileOf("name,unit,packages,density_grams_per_ml", "Paste wax,g,,0.9", "Oil,L,,0.9")
	if got := b.imports(t, r); !got.Applied || got.Added != 2 {
		t.Errorf("put right, ImportProducts = %v", got)
	}
}

func TestServer_ImportProducts_Refuses(t *testing.T) {
	b := stocked(t)
	call := b.sends
	for name, c := range map[string]struct {
		file   *materialsv1.ImportProductsRequest
		reason string
		field  string
	}{
		"Nothing":       {fileOf(), "FILE_EMPTY", "csv"},
		"OnlyBlank":     {fileOf("", ""), "FILE_EMPTY", "csv"},
		"UTF16":         {fileOf("\xff\xfen\x00a\x00m\x00e\x00"), "FILE_NOT_TEXT", "csv"},
		"Latin1":        {fileOf("name,unit", "\xd6lfarbe,L"), "FILE_NOT_TEXT", "csv"},
		"NUL":           {fileOf("name,unit", "Wax\x00,g"), "FILE_NOT_TEXT", "csv"},
		"LineOfTenMiB":  {fileOf("name,unit", strings.Repeat("x", 10<<20)+",g"), "FILE_TOO_LARGE", "csv"},
		"UnknownColumn": {fileOf("name,unit,smell", "Wax,g,fine"), "COLUMN_UNKNOWN", "csv"},
		"ColumnTwice":   {fileOf("name,unit,name", "Wax,g,Oil"), "COLUMN_TWICE", "csv"},
		"NoNames":       {fileOf("unit", "g"), "COLUMN_MISSING", "csv"},
	} {
		t.Run(name, func(t *testing.T) {
			refusedAt(t, svctest.Refused(t, b.Service, call, c.file, fault.Invalid, c.reason), c.field)
		})
	}
	noID := fileOf("name,unit", "Wax,g")
	noID.RequestId = ""
	refusedAt(t, svctest.Refused(t, b.Service, call, noID, fault.Invalid, "INVALID_FIELD"), "request_id")
	used := fileOf("name,unit", "Wax,g")
	b.imports(t, used)
	other := fileOf("name,unit", "Oil,g")
	other.RequestId = used.RequestId
	refusedAt(t, svctest.Refused(t, b.Service, call, other, fault.Invalid, "REQUEST_ID_REUSED"), "request_id")
	if _, err := b.sends(t.Context(), fileOf("name,unit", "Oil,g")); !fault.Is(err, "ACTOR_MISSING") {
		t.Errorf("a file from nobody = %v, want ACTOR_MISSING", err)
	}
}

// Parts of two files are no file.
func TestServer_ImportProducts_PartsDiffer(t *testing.T) {
	b := setup(t)
	mixed := func(ctx context.Context, r *materialsv1.ImportProductsRequest, opts ...grpc.CallOption) (*materialsv1.ImportProductsResponse, error) {
		stream, err := b.catalogue().ImportProducts(ctx, opts...)
		if err != nil {
			return nil, err
		}
		for _, part := range []*materialsv1.ImportProductsRequest{r, fileOf("Wax,g")} {
			if err := stream.Send(part); err != nil {
				return nil, err
			}
		}
		return stream.CloseAndRecv()
	}
	refusedAt(t, svctest.Refused(t, b.Service, mixed, fileOf("name,unit"), fault.Invalid, "PARTS_DIFFER"), "request_id")
}

// A file is larger than a message may be, and comes and goes in parts.
func TestServer_ImportProducts_LargerThanAMessage(t *testing.T) {
	b := setup(t)
	rows := []string{"name,unit,packages,restock_threshold,category,note"}
	for i := range 2_000 {
		rows = append(rows, fmt.Sprintf("Product %04d,L,quart can=1 qt,2 L,paint,%s", i, strings.Repeat("n", 900)))
	}
	r := fileOf(rows...)
	if got := b.imports(t, r); !got.Applied || got.Added != 2_000 || len(r.Csv) < 1<<20 {
		t.Fatalf("ImportProducts of %d bytes = %v", len(r.Csv), got)
	}
	r.RequestId, r.Csv = svctest.NewID(), b.export(t)
	if again := b.imports(t, r); again.Unchanged != 2_000 || len(r.Csv) < 1<<20 {
		t.Errorf("ImportProducts of the %d bytes that were exported = %v", len(r.Csv), again)
	}
}
