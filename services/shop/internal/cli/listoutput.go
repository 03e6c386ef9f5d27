package cli

import (
	"io"
	"iter"
	"slices"
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"tackfree/pkg/protocsv"
)

// listOutput is how a command prints that shows a list, or one thing, as the contracts have it.
type listOutput struct{ tabular }

// print writes the message as JSON or its rows as CSV, or lets text write it for people.
func (l listOutput) print(e *env, m proto.Message, text func() error) error {
	return l.tabular.print(e, m, func() error { return writeRows(e.out, m) }, text)
}

// rowsAt says where the rows of a message are that holds more than a list: what the table has
// that people are shown.
var rowsAt = map[protoreflect.FullName]string{
	"tackfree.costing.v1.GetAccountRulesResponse":     "accounts",
	"tackfree.costing.v1.GetPayrollWeekResponse":      "payroll_week.lines",
	"tackfree.sales.v1.GetTaxReportResponse":          "rows",
	"tackfree.sales.v1.Sale":                          "payments",
	"tackfree.intake.v1.SuggestEstimateResponse":      "draft.lines",
	"tackfree.materials.v1.GetFlammablesResponse":     "places",
	"tackfree.materials.v1.GetOilyWasteResponse":      "work",
	"tackfree.materials.v1.GetOrderResponse":          "order.lines",
	"tackfree.sales.v1.AdvisePriceResponse":           "ways",
	"tackfree.sales.v1.GetListingTextResponse":        "text.lines",
	"tackfree.sales.v1.GetMarkdownPlanResponse":       "plan.steps",
	"tackfree.sales.v1.Listing":                       "sales",
	"tackfree.sales.v1.Set":                           "parts",
	"tackfree.workflow.v1.CheckFinishPlanResponse":    "findings",
	"tackfree.workflow.v1.CheckWhatIfResponse":        "changes",
	"tackfree.workflow.v1.GetFloorPlanResponse":       "plan.stages",
	"tackfree.workflow.v1.ProposePlanResponse":        "plan.stages",
	"tackfree.workflow.v1.PublishPlanResponse":        "left_alone",
	"tackfree.workflow.v1.SuggestPromiseDateResponse": "steps",
	"tackfree.workflow.v1.ListNextStagesResponse":     "next_stages",
	"tackfree.workflow.v1.ListPartTestsResponse":      "tests",
	"tackfree.workflow.v1.GetFinishPlanResponse":      "plan.stages",
}

// writeRows writes the rows of an answer, as pkg/protocsv writes messages. Of an answer with a
// list they are what is on the list; one with one thing is about that, which is a row; and
// anything else is a row.
func writeRows(w io.Writer, m proto.Message) error {
	at := m.ProtoReflect()
	path, said := rowsAt[at.Descriptor().FullName()]
	if !said && strings.HasSuffix(string(at.Descriptor().Name()), "Response") {
		path = onlyPart(at.Descriptor())
	}
	for _, name := range strings.FieldsFunc(path, func(r rune) bool { return r == '.' }) {
		f := at.Descriptor().Fields().ByName(protoreflect.Name(name))
		if f.IsList() {
			return protocsv.Write(w, f.Message(), elements(at.Get(f).List()))
		}
		at = at.Get(f).Message()
	}
	return protocsv.Write(w, at.Descriptor(), slices.Values([]protoreflect.Message{at}))
}

// onlyPart is the field of an answer that is its list, or all there is of it.
func onlyPart(of protoreflect.MessageDescriptor) (name string) {
	for i := range of.Fields().Len() {
		switch f := of.Fields().Get(i); {
		case f.Message() == nil || !f.IsList() && of.Fields().Len() > 1:
		case name != "":
			return ""
		default:
			name = string(f.Name())
		}
	}
	return name
}

func elements(l protoreflect.List) iter.Seq[protoreflect.Message] {
	return func(yield func(protoreflect.Message) bool) {
		for i := range l.Len() {
			if !yield(l.Get(i).Message()) {
				return
			}
		}
	}
}
