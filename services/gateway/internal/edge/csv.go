package edge

import (
	"bytes"
	"context"
	"fmt"
	"iter"
	"mime"
	"net/http"
	"strings"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"tackfree/pkg/fault"
	"tackfree/pkg/protocsv"
)

// mostRows is how long a table may be, and pageSize how much of it a service is asked for at once:
// what services give at most.
const (
	mostRows = 100_000
	pageSize = 1000
)

var errTooLong = fault.New(fault.Invalid, "TABLE_TOO_LONG",
	"This table has more than %d rows, which is the most. Ask for less of it, or for its pages one by one as JSON.", mostRows)

// wantsCSV reports whether a list is asked for as a table.
func wantsCSV(r *http.Request) bool {
	if format := r.URL.Query().Get("format"); format != "" {
		return format == "csv"
	}
	return accepts(r, "text/csv")
}

// accepts reports whether the request names a type as one that it would take.
func accepts(r *http.Request, kind string) bool {
	for _, line := range r.Header.Values("Accept") {
		for one := range strings.SplitSeq(line, ",") {
			if named, _, err := mime.ParseMediaType(one); err == nil && named == kind {
				return true
			}
		}
	}
	return false
}

// serveCSV answers with all pages of a list. It reads them before it begins, so that a table is
// whole or is none.
func (e *edge) serveCSV(w http.ResponseWriter, r *http.Request, route *route, names map[string]string) {
	request, err := route.request(r, names)
	if err != nil {
		e.refuse(w, err)
		return
	}
	var table bytes.Buffer
	rows, failed := e.rows(r.Context(), route, request.ProtoReflect())
	err = protocsv.Write(&table, route.list.Message(), rows)
	if *failed != nil {
		err = *failed
	}
	if err != nil {
		e.refuse(w, err)
		return
	}
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("Content-Disposition", fmt.Sprintf(`attachment; filename="%s.csv"`, route.list.Name()))
	_, _ = w.Write(table.Bytes()) // whoever has gone does not read it
}

// request makes the message of a read.
func (r *route) request(from *http.Request, names map[string]string) (proto.Message, error) {
	m, err := newOf(r.method.Input())
	if err != nil {
		return nil, err
	}
	for path, name := range names {
		if err := runtime.PopulateFieldFromPath(m, path, name); err != nil {
			return nil, err
		}
	}
	return m, runtime.PopulateQueryParameters(m, from.URL.Query(), noFields)
}

// rows reads a list page by page; why it ended early stands in the error that is pointed to.
func (e *edge) rows(ctx context.Context, route *route, request protoreflect.Message) (iter.Seq[protoreflect.Message], *error) {
	failed := new(error)
	return func(yield func(protoreflect.Message) bool) {
		count, more := 0, true
		turn(request, "")
		for more && *failed == nil {
			var page protoreflect.List
			if page, more, *failed = e.page(ctx, route, request); *failed != nil {
				return
			}
			if count += page.Len(); count > mostRows {
				*failed = errTooLong
				return
			}
			for i := range page.Len() {
				if !yield(page.Get(i).Message()) {
					return
				}
			}
		}
	}, failed
}

// page reads a page and makes the request that for the next, if there is one.
func (e *edge) page(ctx context.Context, route *route, request protoreflect.Message) (list protoreflect.List, more bool, err error) {
	answer, err := newOf(route.method.Output())
	if err != nil {
		return nil, false, err
	}
	if err := e.conns[route.service].Invoke(ctx, route.full, request.Interface(), answer); err != nil {
		return nil, false, err
	}
	m := answer.ProtoReflect()
	if next := m.Descriptor().Fields().ByName("next_page_token"); next != nil {
		token := m.Get(next).String()
		turn(request, token)
		more = token != ""
	}
	return m.Get(route.list).List(), more, nil
}

// turn asks for the page that begins at a token, as large as can be; a list that has no pages has no
// fields for that.
func turn(request protoreflect.Message, token string) {
	fields := request.Descriptor().Fields()
	if f := fields.ByName("page_token"); f != nil {
		request.Set(f, protoreflect.ValueOfString(token))
	}
	if f := fields.ByName("page_size"); f != nil {
		request.Set(f, protoreflect.ValueOfInt32(pageSize))
	}
}
