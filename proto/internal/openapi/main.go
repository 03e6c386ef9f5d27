// Command openapi is a protoc plugin that writes one OpenAPI document of all routes of the suite.
//
//	contracts ─▶ protoc-gen-openapiv3: a document for each file ─▶ merged ─▶ edited ─▶ openapi.json
//
// What it edits is what the JSON edge (services/gateway/internal/edge) does in its own way: its
// errors, streams, lists as comma-separated values, days in queries; and it adds what the generator
// does not know: who may give a call, and what every command needs.
package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protodesc"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"
	"google.golang.org/protobuf/types/descriptorpb"
	"google.golang.org/protobuf/types/pluginpb"
)

func main() {
	if err := run(os.Stdin, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "openapi:", err)
		os.Exit(1)
	}
}

func run(in io.Reader, out io.Writer) error {
	b, err := io.ReadAll(in)
	if err != nil {
		return err
	}
	request := &pluginpb.CodeGeneratorRequest{}
	if err := proto.Unmarshal(b, request); err != nil {
		return err
	}
	text, err := document(b, request)
	if err != nil {
		return err
	}
	name, features := "openapi.json", uint64(pluginpb.CodeGeneratorResponse_FEATURE_PROTO3_OPTIONAL)
	b, err = proto.Marshal(&pluginpb.CodeGeneratorResponse{SupportedFeatures: &features,
		File: []*pluginpb.CodeGeneratorResponse_File{{Name: &name, Content: &text}}})
	if err != nil {
		return err
	}
	_, err = out.Write(b)
	return err
}

func document(encoded []byte, request *pluginpb.CodeGeneratorRequest) (string, error) {
	parts, err := generate(encoded)
	if err != nil {
		return "", err
	}
	methods, err := methodsOf(request)
	if err != nil {
		return "", err
	}
	whole, err := merge(parts)
	if err != nil {
		return "", err
	}
	if err := edit(whole, methods); err != nil {
		return "", err
	}
	b, err := json.Marshal(whole)
	if err != nil {
		return "", err
	}
	var text bytes.Buffer // one key a line, for whoever reads what changed
	if err := json.Indent(&text, b, "", " "); err != nil {
		return "", err
	}
	return text.String() + "\n", nil
}

// generate has the library's generator write a document for each file.
func generate(encoded []byte) ([]*pluginpb.CodeGeneratorResponse_File, error) {
	generator := exec.Command("go", "tool", "protoc-gen-openapiv3")
	generator.Stdin, generator.Stderr = bytes.NewReader(encoded), os.Stderr
	b, err := generator.Output()
	if err != nil {
		return nil, fmt.Errorf("protoc-gen-openapiv3: %w", err)
	}
	response := &pluginpb.CodeGeneratorResponse{}
	if err := proto.Unmarshal(b, response); err != nil {
		return nil, err
	}
	if response.Error != nil {
		return nil, fmt.Errorf("protoc-gen-openapiv3: %s", response.GetError())
	}
	return response.File, nil
}

// methodsOf are the methods of the files to generate by their operation id.
func methodsOf(request *pluginpb.CodeGeneratorRequest) (map[string]protoreflect.MethodDescriptor, error) {
	files, err := protodesc.NewFiles(&descriptorpb.FileDescriptorSet{File: request.ProtoFile})
	if err != nil {
		return nil, err
	}
	all := map[string]protoreflect.MethodDescriptor{}
	for _, name := range request.FileToGenerate {
		if err := add(all, files, name); err != nil {
			return nil, err
		}
	}
	return all, nil
}

func add(all map[string]protoreflect.MethodDescriptor, files *protoregistry.Files, name string) error {
	f, err := files.FindFileByPath(name)
	if err != nil {
		return err
	}
	for i := range f.Services().Len() {
		service := f.Services().Get(i)
		for j := range service.Methods().Len() {
			m := service.Methods().Get(j)
			operation := string(service.Name()) + "_" + string(m.Name())
			if all[operation] != nil {
				return fmt.Errorf("two services are called %s", service.Name())
			}
			all[operation] = m
		}
	}
	return nil
}
