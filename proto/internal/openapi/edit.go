package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	typev1 "tackfree/proto/tackfree/type/v1"
)

const about = `Every call of the shop's services as JSON over HTTP. A program sends its secret as a bearer token. ` +
	`A command carries a requestId, a UUID made for it: given again with the same one, it is done once and answers alike. ` +
	`Fields and parameters that a call does not know are refused. Instants are RFC 3339, days in queries YYYY-MM-DD.`

const (
	jsonType  = "application/json"
	linesType = "application/x-ndjson"
	sseType   = "text/event-stream"
	csvType   = "text/csv"
	bearer    = "bearer"
)

// edit makes the document what the edge does.
func edit(doc *openapi3.T, methods map[string]protoreflect.MethodDescriptor) error {
	doc.Info = &openapi3.Info{Title: "Tackfree", Version: "1", Description: about}
	doc.Servers = openapi3.Servers{{URL: "/"}}
	doc.Security = *openapi3.NewSecurityRequirements().With(openapi3.NewSecurityRequirement().Authenticate(bearer))
	doc.Components.SecuritySchemes = openapi3.SecuritySchemes{bearer: {Value: &openapi3.SecurityScheme{Type: "http", Scheme: "bearer",
		Description: "The secret of a program, or an access token."}}}
	addErrors(doc)
	for path, item := range doc.Paths.Map() {
		for verb, operation := range item.Operations() {
			id, _, _ := strings.Cut(operation.OperationID, "_")
			method := methods[operation.OperationID]
			if method == nil { // the second binding of a method is numbered
				method = methods[operation.OperationID[:strings.LastIndex(operation.OperationID, "_")]]
			}
			if method == nil || id == "" {
				return fmt.Errorf("%s %s is of no method", verb, path)
			}
			if err := editOperation(path, operation, method); err != nil {
				return fmt.Errorf("%s %s: %w", verb, path, err)
			}
		}
	}
	return nil
}

func editOperation(path string, o *openapi3.Operation, method protoreflect.MethodDescriptor) error {
	access, _ := proto.GetExtension(method.Options(), typev1.E_Access).(*typev1.Access)
	if access == nil {
		return fmt.Errorf("%s does not say who may give it", method.FullName())
	}
	o.Description = strings.TrimSpace(strings.TrimSpace(o.Summary+"\n\n"+o.Description) + "\n\n" + mayGive(access))
	o.Summary = spaced(string(method.Name()))
	if access.Open {
		o.Security = openapi3.NewSecurityRequirements()
	}
	describeNames(path, o)
	o.Parameters = days(o.Parameters)
	o.Responses.Set("default", &openapi3.ResponseRef{Ref: "#/components/responses/Error"})
	answer := o.Responses.Value("200").Value
	switch {
	case method.IsStreamingServer():
		stream := answer.Content[jsonType]
		stream.Schema.Value.Properties["error"] = openapi3.NewSchemaRef("#/components/schemas/Problem", nil)
		answer.Content = openapi3.Content{linesType: stream, sseType: {Schema: openapi3.NewStringSchema().NewRef()}}
	case strings.HasPrefix(string(method.Name()), "List"):
		answer.Content[csvType] = &openapi3.MediaType{Schema: openapi3.NewStringSchema().NewRef()}
		o.Parameters = append(o.Parameters, format())
	}
	editBody(o, method)
	return nil
}

// editBody says what every command needs, and how a body that comes in parts is sent.
func editBody(o *openapi3.Operation, method protoreflect.MethodDescriptor) {
	if o.RequestBody == nil {
		return
	}
	body := o.RequestBody.Value
	schema := body.Content[jsonType].Schema.Value
	if id := schema.Properties["requestId"]; id != nil {
		id.Value.Format = "uuid"
		schema.Required = append(schema.Required, "requestId")
	}
	if method.IsStreamingClient() {
		body.Description = "Several messages, one on each line."
		body.Content = openapi3.Content{linesType: body.Content[jsonType]}
	}
}

// mayGive says who may give a call.
func mayGive(a *typev1.Access) string {
	least := strings.ToLower(strings.TrimPrefix(a.Least.String(), "ROLE_"))
	switch {
	case a.Open:
		return "Anybody may, also who has not signed in."
	case a.Own != "":
		return fmt.Sprintf("Least role: %s, and of that role only for oneself (%s).", least, a.Own)
	}
	return fmt.Sprintf("Least role: %s.", least)
}

// spaced is a name in words: TakeInPiece is Take in piece.
func spaced(name string) string {
	var b strings.Builder
	for i, r := range name {
		if i > 0 && 'A' <= r && r <= 'Z' {
			b.WriteByte(' ')
			r += 'a' - 'A'
		}
		b.WriteRune(r)
	}
	return b.String()
}

// describeNames says what a variable of the path is: the contract speaks of the whole name.
func describeNames(path string, o *openapi3.Operation) {
	steps := strings.FieldsFunc(path, func(r rune) bool { return r == '/' || r == ':' })
	for _, p := range o.Parameters {
		if i := slices.Index(steps, "{"+p.Value.Name+"}"); i > 0 && p.Value.In == openapi3.ParameterInPath {
			p.Value.Description = fmt.Sprintf("What follows %s/ in the name.", steps[i-1])
		}
	}
}

// days makes one parameter of year, month and day.
func days(all openapi3.Parameters) (out openapi3.Parameters) {
	for i, p := range all {
		name, part, _ := strings.Cut(p.Value.Name, ".")
		isDay := part == "year" && i+2 < len(all) && all[i+1].Value.Name == name+".month" && all[i+2].Value.Name == name+".day"
		switch {
		case isDay:
			day := *p.Value
			day.Name, day.Schema = name, openapi3.NewStringSchema().WithFormat("date").NewRef()
			day.Description = strings.TrimSpace(day.Description)
			out = append(out, &openapi3.ParameterRef{Value: &day})
		case len(out) > 0 && out[len(out)-1].Value.Name == name && (part == "month" || part == "day"):
		default:
			out = append(out, p)
		}
	}
	return out
}

func format() *openapi3.ParameterRef {
	return &openapi3.ParameterRef{Value: &openapi3.Parameter{Name: "format", In: openapi3.ParameterInQuery,
		Description: "csv: all pages at once, at most 100,000 rows, as Accept: text/csv does.",
		Schema:      openapi3.NewStringSchema().WithEnum("json", "csv").NewRef()}}
}
