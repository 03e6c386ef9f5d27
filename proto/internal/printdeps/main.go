// Command printdeps writes the .proto text of the contracts that ours import, from
// the descriptors linked into this program. The text therefore always equals the
// Go types in go.mod, and no schema registry is needed to build.
package main

import (
	"fmt"
	"os"
	"path/filepath"

	"buf.build/gen/go/bufbuild/protovalidate/protocolbuffers/go/buf/validate"
	"github.com/jhump/protoreflect/v2/protoprint"
	"google.golang.org/genproto/googleapis/api/annotations"
	"google.golang.org/genproto/googleapis/type/date"
	"google.golang.org/genproto/googleapis/type/dayofweek"
	"google.golang.org/genproto/googleapis/type/money"
	"google.golang.org/genproto/googleapis/type/timeofday"
	"google.golang.org/protobuf/reflect/protoreflect"
)

func main() {
	if len(os.Args) != 2 {
		fail(fmt.Errorf("usage: printdeps FOLDER"))
	}
	files := []protoreflect.FileDescriptor{
		validate.File_buf_validate_validate_proto,
		annotations.File_google_api_http_proto,
		annotations.File_google_api_annotations_proto,
		date.File_google_type_date_proto,
		dayofweek.File_google_type_dayofweek_proto,
		money.File_google_type_money_proto,
		timeofday.File_google_type_timeofday_proto,
	}
	for _, f := range files {
		if err := print(os.Args[1], f); err != nil {
			fail(err)
		}
	}
}

func print(dir string, f protoreflect.FileDescriptor) error {
	path := filepath.Join(dir, filepath.FromSlash(f.Path()))
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	out, err := os.Create(path)
	if err != nil {
		return err
	}
	p := protoprint.Printer{}
	if err := p.PrintProtoFile(f, out); err != nil {
		return fmt.Errorf("print %s: %w", f.Path(), err)
	}
	return out.Close()
}

func fail(err error) {
	fmt.Fprintln(os.Stderr, "printdeps:", err)
	os.Exit(1)
}
