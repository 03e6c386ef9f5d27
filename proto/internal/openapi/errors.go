package main

import "github.com/getkin/kin-openapi/openapi3"

// addErrors describes what the edge answers when it does not do what it was asked.
func addErrors(doc *openapi3.T) {
	delete(doc.Components.Schemas, "google.rpc.Status")
	doc.Components.Schemas["Problem"] = described(openapi3.NewObjectSchema().
		WithProperty("code", described(openapi3.NewStringSchema().WithEnum("INVALID_ARGUMENT", "NOT_FOUND", "ALREADY_EXISTS",
			"FAILED_PRECONDITION", "ABORTED", "RESOURCE_EXHAUSTED", "UNAVAILABLE", "UNAUTHENTICATED", "PERMISSION_DENIED",
			"DEADLINE_EXCEEDED", "CANCELLED", "INTERNAL"), "A code of gRPC: what sort of thing went wrong.").Value).
		WithProperty("reason", described(openapi3.NewStringSchema(), "For programs, and stable: PIECE_NOT_FOUND.").Value).
		WithProperty("message", described(openapi3.NewStringSchema(), "A sentence for people, who can act on it.").Value).
		WithProperty("fields", described(openapi3.NewArraySchema().WithItems(openapi3.NewObjectSchema().
			WithProperty("field", openapi3.NewStringSchema()).WithProperty("message", openapi3.NewStringSchema())),
			"The fields of the request that are at fault.").Value).
		WithRequired([]string{"code", "reason", "message", "fields"}), "Why a call was not done.")
	problem := openapi3.NewObjectSchema().WithRequired([]string{"error"})
	problem.Properties = openapi3.Schemas{"error": openapi3.NewSchemaRef("#/components/schemas/Problem", nil)}
	doc.Components.Schemas["Error"] = problem.NewRef()
	text := "Why the call was not done."
	doc.Components.Responses = openapi3.ResponseBodies{"Error": {Value: &openapi3.Response{Description: &text,
		Content: openapi3.NewContentWithJSONSchemaRef(openapi3.NewSchemaRef("#/components/schemas/Error", nil))}}}
}

func described(s *openapi3.Schema, text string) *openapi3.SchemaRef {
	s.Description = text
	return s.NewRef()
}
