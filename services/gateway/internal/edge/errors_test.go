package edge_test

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"testing"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"

	"tackfree/pkg/fault"
)

const aCommand = `{"requestId": "0190f0a0-0000-7000-8000-000000000000", "reason": "the veneer is gone"}`

// What a service refuses is said as it said it.
func TestErrors_OfServices(t *testing.T) {
	h, s := setup(t)
	full := fault.New(fault.Invalid, "INVALID_FIELD", "Two are wrong.")
	full.Fields = []fault.Field{{Path: "parts[1].length_unit", Text: "is no unit"}, {Path: "scrap_time", Text: "has not come"}}
	for _, c := range []struct {
		err    error
		status int
		code   string
		reason string
		says   string
		header string
	}{
		{full, 400, "INVALID_ARGUMENT", "INVALID_FIELD", "Two are wrong.", ""},
		{fault.New(fault.NotFound, "PIECE_NOT_FOUND", "There is none."), 404, "NOT_FOUND", "PIECE_NOT_FOUND", "There is none.", ""},
		{fault.New(fault.Exists, "TAG_TAKEN", "It is."), 409, "ALREADY_EXISTS", "TAG_TAKEN", "It is.", ""},
		{fault.New(fault.Precondition, "PIECE_SOLD", "It is."), 400, "FAILED_PRECONDITION", "PIECE_SOLD", "It is.", ""},
		{fault.New(fault.Conflict, "ETAG_MISMATCH", "It has."), 409, "ABORTED", "ETAG_MISMATCH", "It has.", ""},
		{fault.New(fault.Exhausted, "TOO_BUSY", "It is."), 429, "RESOURCE_EXHAUSTED", "TOO_BUSY", "It is.", "Retry-After"},
		{fault.New(fault.Unavailable, "SERVICE_UNAVAILABLE", "It is."), 503, "UNAVAILABLE", "SERVICE_UNAVAILABLE", "It is.", "Retry-After"},
		{fault.New(fault.Internal, "INTERNAL", "See 7."), 500, "INTERNAL", "INTERNAL", "See 7.", ""},
		{fault.New(fault.Unauthenticated, "ACCESS_EXPIRED", "It has."), 401, "UNAUTHENTICATED", "ACCESS_EXPIRED", "It has.", "Www-Authenticate"},
		{fault.New(fault.Denied, "ROLE_TOO_LOW", "Ask."), 403, "PERMISSION_DENIED", "ROLE_TOO_LOW", "Ask.", ""},
		{fmt.Errorf("%w: late", context.DeadlineExceeded), 504, "DEADLINE_EXCEEDED", "TOOK_TOO_LONG", "It took longer", ""},
		{context.Canceled, 499, "CANCELLED", "CALLER_GONE", "", ""},
		{errors.New("password of the database"), 500, "INTERNAL", "INTERNAL", "Something broke", ""},
		{status.Error(codes.Unavailable, "dial tcp 10.0.0.1"), 503, "UNAVAILABLE", "SERVICE_UNAVAILABLE", "cannot be reached", "Retry-After"},
	} {
		s.answer = func(string, proto.Message, proto.Message) error { return c.err }
		w := serve(h, ask("POST", "/v1/pieces/7:scrap", aCommand))
		p := problemIn(t, w.Body.String())
		if w.Code != c.status || p.Code != c.code || p.Reason != c.reason || !strings.Contains(p.Message, c.says) || strings.Contains(p.Message, "password") {
			t.Errorf("%v: %d %+v, want %d %s %s", c.err, w.Code, p, c.status, c.code, c.reason)
		}
		for _, header := range []string{"Retry-After", "Www-Authenticate"} {
			if got := w.Header().Get(header); (got != "") != (c.header == header) {
				t.Errorf("%v: %s is %q", c.err, header, got)
			}
		}
		s.last(t)
	}
	s.answer = func(string, proto.Message, proto.Message) error { return full }
	p := problemIn(t, serve(h, ask("POST", "/v1/pieces/7:scrap", aCommand)).Body.String())
	if len(p.Fields) != 2 || p.Fields[0].Field != "parts[1].lengthUnit" || p.Fields[0].Message != "is no unit" || p.Fields[1].Field != "scrapTime" {
		t.Errorf("fields are %v, want them named as in JSON", p.Fields)
	}
}

func TestErrors_OfTheEdge(t *testing.T) {
	h, s := setup(t)
	long := `{"reason": "` + strings.Repeat("x", 1<<20) + `"}`
	for name, c := range map[string]struct {
		request *http.Request
		status  int
		reason  string
		says    string
	}{
		"NoSuchPath":        {ask("GET", "/v1/nothing", ""), 404, "NO_SUCH_ROUTE", "/v1/nothing"},
		"NoSuchVerb":        {ask("POST", "/v1/stations:paint", "{}"), 404, "NO_SUCH_ROUTE", ""},
		"OtherMethod":       {ask("DELETE", "/v1/pieces/7", ""), 405, "METHOD_NOT_ALLOWED", "DELETE"},
		"PostOfARead":       {ask("POST", "/v1/pieces/7", "{}"), 405, "METHOD_NOT_ALLOWED", ""},
		"FormAsGet":         {ask("POST", "/v1/pieces/7", "a=b", "Content-Type", "application/x-www-form-urlencoded"), 405, "METHOD_NOT_ALLOWED", ""},
		"Override":          {ask("POST", "/v1/pieces/7", "", "X-HTTP-Method-Override", "GET", "Content-Type", "application/x-www-form-urlencoded"), 405, "METHOD_NOT_ALLOWED", ""},
		"PostToDocument":    {ask("POST", "/openapi.json", "{}"), 405, "METHOD_NOT_ALLOWED", ""},
		"UnknownField":      {ask("POST", "/v1/pieces/7:scrap", `{"reasn": "x"}`), 400, "FIELD_UNKNOWN", `"reasn"`},
		"UnknownFieldIn":    {ask("POST", "/v1/pieces", `{"parts": [{"colour": "x"}]}`), 400, "FIELD_UNKNOWN", `"colour"`},
		"NotJSON":           {ask("POST", "/v1/pieces/7:scrap", `reason=x`), 400, "JSON_MALFORMED", ""},
		"Cut":               {ask("POST", "/v1/pieces/7:scrap", `{"reason": "x"`), 400, "JSON_MALFORMED", ""},
		"Two":               {ask("POST", "/v1/pieces/7:scrap", `{} {}`), 400, "JSON_MALFORMED", "follows"},
		"AList":             {ask("POST", "/v1/pieces/7:scrap", `[]`), 400, "JSON_MALFORMED", ""},
		"WrongType":         {ask("POST", "/v1/pieces/7:scrap", `{"reason": 5}`), 400, "JSON_MALFORMED", "reason"},
		"UnknownWord":       {ask("POST", "/v1/people/7:setRole", `{"role": "ROLE_KING"}`), 400, "WORD_UNKNOWN", "role cannot be \"ROLE_KING\"; it is one of"},
		"OtherInBody":       {ask("POST", "/v1/pieces/7:scrap", `{"piece": "pieces/8"}`), 400, "FIELD_TWICE", "pieces/8"},
		"OtherWithinBody":   {ask("PATCH", "/v1/people/7", `{"person": {"name": "people/8"}}`), 400, "FIELD_TWICE", "person.name"},
		"TooLarge":          {ask("POST", "/v1/pieces/7:scrap", long), 413, "BODY_TOO_LARGE", "1 MiB"},
		"TooLargeUntold":    {untold(ask("POST", "/v1/pieces/7:scrap", long)), 413, "BODY_TOO_LARGE", "1 MiB"},
		"NoType":            {ask("POST", "/v1/pieces/7:scrap", "{}", "Content-Type", ""), 415, "CONTENT_TYPE", "application/json"},
		"Form":              {ask("POST", "/v1/pieces/7:scrap", "{}", "Content-Type", "text/plain"), 415, "CONTENT_TYPE", ""},
		"LinesForOne":       {ask("POST", "/v1/pieces/7:scrap", "{}", "Content-Type", "application/x-ndjson"), 415, "CONTENT_TYPE", ""},
		"OtherLetters":      {ask("POST", "/v1/pieces/7:scrap", "{}", "Content-Type", "application/json; charset=latin1"), 415, "CONTENT_TYPE", ""},
		"Compressed":        {ask("POST", "/v1/pieces/7:scrap", "{}", "Content-Encoding", "gzip"), 415, "CONTENT_ENCODING", ""},
		"UnknownParameter":  {ask("GET", "/v1/pieces?pagesize=5", ""), 400, "PARAMETER_UNKNOWN", `"pagesize"`},
		"ParameterInPath":   {ask("GET", "/v1/pieces/7?name=pieces/8", ""), 400, "PARAMETER_UNKNOWN", `"name"`},
		"ParameterOfPost":   {ask("POST", "/v1/pieces/7:scrap?reason=x", "{}"), 400, "PARAMETER_UNKNOWN", `"reason"`},
		"ParameterBelow":    {ask("GET", "/v1/pieces?page_size.x=5", ""), 400, "PARAMETER_UNKNOWN", ""},
		"ParameterMap":      {ask("GET", "/v1/pieces?page_size[x]=5", ""), 400, "PARAMETER_UNKNOWN", ""},
		"BadParameter":      {ask("GET", "/v1/pieces?page_size=many", ""), 400, "PARAMETER_MALFORMED", `"many"`},
		"ParameterTwice":    {ask("GET", "/v1/pieces?page_size=5&page_size=6", ""), 400, "PARAMETER_MALFORMED", ""},
		"ParameterTwoNames": {ask("GET", "/v1/pieces?page_size=5&pageSize=6", ""), 400, "PARAMETER_MALFORMED", ""},
		"NoDay":             {ask("GET", "/v1/payrollWeek?date=2026-02-30", ""), 400, "PARAMETER_MALFORMED", "date"},
		"DayTwice":          {ask("GET", "/v1/payrollWeek?date=2026-02-20&date.day=21", ""), 400, "PARAMETER_MALFORMED", ""},
		"BadQuery":          {ask("GET", "/v1/pieces?%zz", ""), 400, "PARAMETER_MALFORMED", ""},
		"Semicolon":         {ask("GET", "/v1/pieces?page_size=1;page_token=2", ""), 400, "PARAMETER_MALFORMED", ""},
		"OtherFormat":       {ask("GET", "/v1/pieces?format=xml", ""), 400, "PARAMETER_MALFORMED", `"xml"`},
		"FormatOfNoList":    {ask("GET", "/v1/pieces/7?format=csv", ""), 400, "PARAMETER_UNKNOWN", `"format"`},
	} {
		t.Run(name, func(t *testing.T) {
			if p := refused(t, h, s, c.request, c.status, c.reason); !strings.Contains(p.Message, c.says) {
				t.Errorf("%q does not name %s", p.Message, c.says)
			}
		})
	}
}

// untold is a request that does not say how long it is.
func untold(r *http.Request) *http.Request {
	r.ContentLength = -1
	return r
}
