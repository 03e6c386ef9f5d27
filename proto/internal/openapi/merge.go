package main

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"google.golang.org/protobuf/types/pluginpb"
)

// merge makes one document of many; what they have in common is alike in each.
func merge(parts []*pluginpb.CodeGeneratorResponse_File) (*openapi3.T, error) {
	whole := &openapi3.T{OpenAPI: "3.1.0", Paths: openapi3.NewPaths(),
		Components: &openapi3.Components{Schemas: openapi3.Schemas{}}}
	shapes := map[string]string{}
	for _, part := range parts {
		loader := openapi3.NewLoader()
		doc, err := loader.LoadFromData([]byte(part.GetContent()))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", part.GetName(), err)
		}
		whole.Tags = append(whole.Tags, doc.Tags...)
		maps.Copy(whole.Components.Schemas, doc.Components.Schemas)
		for _, path := range doc.Paths.Keys() {
			if err := addPath(whole, shapes, path, doc.Paths.Value(path)); err != nil {
				return nil, err
			}
		}
	}
	slices.SortFunc(whole.Tags, func(a, b *openapi3.Tag) int { return cmp.Compare(a.Name, b.Name) })
	return whole, nil
}

// addPath adds what a path does. A path of the same shape is the same path to OpenAPI, whatever
// its variables are called: they are then called as in the first.
func addPath(whole *openapi3.T, shapes map[string]string, path string, item *openapi3.PathItem) error {
	shape, names := shapeOf(path)
	first, known := shapes[shape]
	if !known {
		shapes[shape] = path
		whole.Paths.Set(path, item)
		return nil
	}
	_, called := shapeOf(first)
	there := whole.Paths.Value(first)
	for verb, operation := range item.Operations() {
		if there.GetOperation(verb) != nil {
			return fmt.Errorf("two methods have the route %s %s", verb, shape)
		}
		for _, p := range operation.Parameters {
			if i := slices.Index(names, p.Value.Name); i >= 0 && p.Value.In == openapi3.ParameterInPath {
				p.Value.Name = called[i]
			}
		}
		there.SetOperation(verb, operation)
	}
	return nil
}

// shapeOf is a path without the names of its variables, and those names.
func shapeOf(path string) (shape string, names []string) {
	for {
		before, rest, found := strings.Cut(path, "{")
		if !found {
			return shape + path, names
		}
		name, after, _ := strings.Cut(rest, "}")
		shape, names, path = shape+before+"{}", append(names, name), after
	}
}
