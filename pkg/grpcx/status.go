package grpcx

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"time"

	"buf.build/gen/go/bufbuild/protovalidate/protocolbuffers/go/buf/validate"
	"buf.build/go/protovalidate"
	"github.com/grpc-ecosystem/go-grpc-middleware/v2/interceptors/logging"
	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/protoadapt"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/durationpb"

	"tackfree/pkg/fault"
	"tackfree/pkg/id"
)

// Domain is the domain of every ErrorInfo the suite sends.
const Domain = "tackfree"

var kindToCode = map[fault.Kind]codes.Code{
	fault.Invalid: codes.InvalidArgument, fault.NotFound: codes.NotFound, fault.Exists: codes.AlreadyExists,
	fault.Precondition: codes.FailedPrecondition, fault.Conflict: codes.Aborted, fault.Exhausted: codes.ResourceExhausted,
	fault.Unavailable: codes.Unavailable, fault.Internal: codes.Internal,
	fault.Unauthenticated: codes.Unauthenticated, fault.Denied: codes.PermissionDenied,
}

var codeToKind = func() map[codes.Code]fault.Kind {
	back := make(map[codes.Code]fault.Kind, len(kindToCode))
	for k, c := range kindToCode {
		back[c] = k
	}
	return back
}()

// toStatus is the one place where errors become gRPC status. What is no fault is a bug
// or a broken machine: it is logged under a number, and only the number is sent.
func (in interceptors) toStatus(ctx context.Context, method string, err error) error {
	if err == nil {
		return nil
	}
	if f := fault.Of(err); f != nil {
		if f.Kind == fault.Unavailable || f.Kind == fault.Internal {
			in.logger.WarnContext(ctx, "call failed", "method", method, "reason", f.Reason, "error", err)
		}
		return statusOf(f)
	}
	if _, made := err.(interface{ GRPCStatus() *status.Status }); made {
		return err // made by gRPC's own services: health, reflection, a method that is not there
	}
	switch {
	case errors.Is(err, context.DeadlineExceeded):
		return status.Error(codes.DeadlineExceeded, "It took longer than the caller would wait.")
	case errors.Is(err, context.Canceled):
		return status.Error(codes.Canceled, "The caller went away.")
	}
	number := id.New().String()
	in.logger.ErrorContext(ctx, "call failed", "method", method, "number", number, "error", err)
	return statusOf(fault.New(fault.Internal, "INTERNAL", "Something broke inside the service. It is in its log under %s.", number).With("number", number))
}

func statusOf(f *fault.Fault) error {
	code, known := kindToCode[f.Kind]
	if !known {
		code = codes.Internal // never OK
	}
	s := status.New(code, f.Text)
	// The text goes twice, for a client that gives up after several tries rewords the first.
	details := []protoadapt.MessageV1{
		&errdetails.ErrorInfo{Reason: f.Reason, Domain: Domain, Metadata: f.Meta},
		&errdetails.LocalizedMessage{Locale: "en", Message: f.Text},
	}
	if len(f.Fields) > 0 {
		bad := &errdetails.BadRequest{}
		for _, field := range f.Fields {
			bad.FieldViolations = append(bad.FieldViolations, &errdetails.BadRequest_FieldViolation{
				Field: field.Path, Description: field.Text, Reason: f.Reason})
		}
		details = append(details, bad)
	}
	if f.Kind == fault.Conflict || f.Kind == fault.Exhausted || f.Kind == fault.Unavailable {
		details = append(details, &errdetails.RetryInfo{RetryDelay: durationpb.New(500 * time.Millisecond)})
	}
	with, err := s.WithDetails(details...)
	if err != nil {
		return s.Err()
	}
	return with.Err()
}

// FaultOf turns a status that came over the wire into the fault it was made from. Other
// statuses become Unavailable or Internal faults; nil stays nil.
func FaultOf(err error) error {
	if err == nil {
		return nil
	}
	s, ok := status.FromError(err)
	if !ok {
		return err
	}
	f := &fault.Fault{Text: s.Message(), Kind: fault.Internal}
	if kind, ours := codeToKind[s.Code()]; ours {
		f.Kind = kind
	}
	for _, d := range s.Details() {
		switch d := d.(type) {
		case *errdetails.ErrorInfo:
			f.Reason, f.Meta = d.Reason, d.Metadata
		case *errdetails.LocalizedMessage:
			f.Text = d.Message
		case *errdetails.BadRequest:
			for _, v := range d.FieldViolations {
				f.Fields = append(f.Fields, fault.Field{Path: v.Field, Text: v.Description})
			}
		}
	}
	switch {
	case f.Reason != "":
		return f.Because(err)
	case s.Code() == codes.DeadlineExceeded:
		return fmt.Errorf("%w: %w", context.DeadlineExceeded, err)
	case s.Code() == codes.Canceled:
		return fmt.Errorf("%w: %w", context.Canceled, err)
	case s.Code() == codes.Unavailable:
		return fault.New(fault.Unavailable, "SERVICE_UNAVAILABLE", "A service of the suite cannot be reached; try again shortly.").Because(err)
	}
	return fault.New(fault.Internal, "UNEXPECTED_STATUS", "The service answered in a way that was not expected: %s.", s.Message()).Because(err)
}

// invalid turns the contract rules that a message breaks into one fault that lists every
// field.
func invalid(m proto.Message, err error) error {
	var ve *protovalidate.ValidationError
	if !errors.As(err, &ve) {
		return err // a rule that cannot run: a bug
	}
	f := fault.New(fault.Invalid, "INVALID_FIELD", "")
	var texts []string
	for _, v := range ve.Violations {
		path := protovalidate.FieldPathString(v.Proto.GetField())
		text := broken(m, path, v.Proto)
		f.Fields = append(f.Fields, fault.Field{Path: path, Text: text})
		texts = append(texts, fault.Sentence(path, text))
	}
	f.Text = strings.Join(texts, " ")
	return f
}

// broken says what is wrong with a field, to follow its name.
func broken(m proto.Message, path string, v *validate.Violation) string {
	choice := m.ProtoReflect().Descriptor().Oneofs().ByName(protoreflect.Name(path))
	switch {
	case choice != nil:
		var names []string
		for i := range choice.Fields().Len() {
			names = append(names, fault.Word(string(choice.Fields().Get(i).Name())))
		}
		return "is missing; give one of these: " + strings.Join(names, ", ")
	case v.GetRuleId() == "required":
		return "is missing"
	case strings.HasPrefix(v.GetRuleId(), "enum."):
		return "is missing, or is none of those that can be chosen"
	case v.GetMessage() == "":
		return "is not valid"
	}
	return v.GetMessage()
}

// levelOf: a refused command is the client's business, a broken service is ours.
func levelOf(code codes.Code) logging.Level {
	switch code {
	case codes.OK:
		return logging.Level(slog.LevelDebug)
	case codes.Unavailable, codes.Internal, codes.Unknown, codes.DataLoss, codes.ResourceExhausted:
		return logging.Level(slog.LevelWarn)
	}
	return logging.Level(slog.LevelInfo)
}
