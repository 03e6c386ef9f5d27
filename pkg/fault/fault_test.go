package fault_test

import (
	"errors"
	"fmt"
	"io"
	"testing"

	"tackfree/pkg/fault"
)

func TestFault_IsFoundThroughWrapping(t *testing.T) {
	f := fault.New(fault.Precondition, "STAGE_NOT_READY", "%s is not finished", "sand").
		At("stage").With("open", "sand").Because(io.ErrUnexpectedEOF)
	err := fmt.Errorf("finish stage: %w", f)

	if !errors.Is(err, fault.Precondition) || errors.Is(err, fault.NotFound) {
		t.Errorf("errors.Is does not find exactly the kind of %v", err)
	}
	if !errors.Is(err, io.ErrUnexpectedEOF) {
		t.Errorf("errors.Is does not find the cause of %v", err)
	}
	if got := fault.Reason(err); got != "STAGE_NOT_READY" {
		t.Errorf("Reason(%v) = %q, want STAGE_NOT_READY", err, got)
	}
	if got := fault.Of(err); len(got.Fields) != 1 || got.Fields[0].Path != "stage" || got.Meta["open"] != "sand" {
		t.Errorf("Of(%v) = %+v, want field and meta kept", err, got)
	}
}

func TestFault_CopiesDoNotShare(t *testing.T) {
	base := fault.New(fault.Invalid, "X", "x").With("a", "1")
	_ = base.With("b", "2").At("f")
	if len(base.Fields) != 0 || len(base.Meta) != 1 {
		t.Errorf("base changed through a copy: %+v", base)
	}
}

func TestReason_OfAnOrdinaryErrorIsEmpty(t *testing.T) {
	if got := fault.Reason(io.EOF); got != "" {
		t.Errorf("Reason(io.EOF) = %q, want empty", got)
	}
	if fault.Is(io.EOF, "") {
		t.Error("Is(io.EOF, \"\") = true, want false")
	}
}
