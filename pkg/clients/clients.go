// Package clients is one gRPC client for each service of the suite, over connections that
// somebody else makes: what the command line and the pages both stand on. Plumbing.
package clients

import (
	"context"

	"google.golang.org/grpc"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	eventsv1 "tackfree/proto/tackfree/events/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// Names are the services, in the order they are shown.
var Names = []string{"intake", "workflow", "materials", "sales", "costing"}

// Producers are those of them that write events.
var Producers = Names[:4]

// Suite is a client of every service.
type Suite struct {
	Intake      intakev1.IntakeServiceClient
	PieceLots   intakev1.LotServiceClient
	Photos      intakev1.PhotoServiceClient
	Prospects   intakev1.ProspectServiceClient
	Clients     intakev1.ClientServiceClient
	Commissions intakev1.CommissionServiceClient
	Assessments intakev1.AssessmentServiceClient
	SignIn      workflowv1.SignInServiceClient
	Planning    workflowv1.PlanningServiceClient
	Estimates   workflowv1.EstimateServiceClient
	Swaps       workflowv1.SwapServiceClient
	Comebacks   workflowv1.ComebackServiceClient
	People      workflowv1.PeopleServiceClient
	Routes      workflowv1.RouteServiceClient
	Stages      workflowv1.StageServiceClient
	Clocks      workflowv1.ClockServiceClient
	Finish      workflowv1.FinishServiceClient
	Climate     workflowv1.ClimateServiceClient
	Tests       workflowv1.PartTestServiceClient
	Stations    workflowv1.StationServiceClient
	Reviews     workflowv1.ClockReviewServiceClient
	Inspections workflowv1.InspectionServiceClient
	Outside     workflowv1.OutsideWorkServiceClient
	Batches     workflowv1.BatchServiceClient
	Floor       workflowv1.FloorServiceClient
	Materials   materialsv1.MaterialsServiceClient
	Catalogue   materialsv1.CatalogueServiceClient
	Suppliers   materialsv1.SupplierServiceClient
	Stock       materialsv1.StockServiceClient
	Mixes       materialsv1.MixServiceClient
	Needs       materialsv1.NeedServiceClient
	Restock     materialsv1.RestockServiceClient
	Orders      materialsv1.OrderServiceClient
	Storage     materialsv1.StorageServiceClient
	Equipment   materialsv1.EquipmentServiceClient
	Sales       salesv1.SalesServiceClient
	Sets        salesv1.SetServiceClient
	Channels    salesv1.ChannelServiceClient
	Taxes       salesv1.TaxServiceClient
	Payments    salesv1.PaymentServiceClient
	Receipts    salesv1.ReceiptServiceClient
	Listings    salesv1.ListingServiceClient
	Markdowns   salesv1.MarkdownServiceClient
	Holds       salesv1.HoldServiceClient
	Deposits    salesv1.DepositServiceClient
	Offers      salesv1.OfferServiceClient
	Prices      salesv1.PriceAdviceServiceClient
	Costing     costingv1.CostingServiceClient
	Rates       costingv1.PayRateServiceClient
	PayRules    costingv1.PayRuleServiceClient
	Books       costingv1.BooksServiceClient
	Answers     costingv1.AnswerServiceClient
	Payroll     costingv1.PayrollServiceClient
	Overhead    costingv1.OverheadServiceClient
	Months      costingv1.MonthServiceClient
	// Logs are the producers' event logs.
	Logs map[string]eventsv1.EventLogServiceClient
}

// Use makes the clients from connections that somebody else makes and closes.
func Use(conn func(name string) (grpc.ClientConnInterface, error)) (*Suite, error) {
	conns := map[string]grpc.ClientConnInterface{}
	for _, name := range Names {
		c, err := conn(name)
		if err != nil {
			return nil, err
		}
		conns[name] = c
	}
	return over(conns), nil
}

func over(c map[string]grpc.ClientConnInterface) *Suite {
	s := &Suite{
		Intake: intakev1.NewIntakeServiceClient(c["intake"]), PieceLots: intakev1.NewLotServiceClient(c["intake"]),
		Photos: intakev1.NewPhotoServiceClient(c["intake"]), Prospects: intakev1.NewProspectServiceClient(c["intake"]), Assessments: intakev1.NewAssessmentServiceClient(c["intake"]),
		Clients: intakev1.NewClientServiceClient(c["intake"]), Commissions: intakev1.NewCommissionServiceClient(c["intake"]),
		SignIn: workflowv1.NewSignInServiceClient(c["workflow"]), Planning: workflowv1.NewPlanningServiceClient(c["workflow"]),
		Estimates: workflowv1.NewEstimateServiceClient(c["workflow"]), Swaps: workflowv1.NewSwapServiceClient(c["workflow"]), Comebacks: workflowv1.NewComebackServiceClient(c["workflow"]),
		People: workflowv1.NewPeopleServiceClient(c["workflow"]), Routes: workflowv1.NewRouteServiceClient(c["workflow"]),
		Stages: workflowv1.NewStageServiceClient(c["workflow"]), Clocks: workflowv1.NewClockServiceClient(c["workflow"]),
		Finish: workflowv1.NewFinishServiceClient(c["workflow"]), Climate: workflowv1.NewClimateServiceClient(c["workflow"]),
		Tests:    workflowv1.NewPartTestServiceClient(c["workflow"]),
		Stations: workflowv1.NewStationServiceClient(c["workflow"]), Reviews: workflowv1.NewClockReviewServiceClient(c["workflow"]),
		Inspections: workflowv1.NewInspectionServiceClient(c["workflow"]), Outside: workflowv1.NewOutsideWorkServiceClient(c["workflow"]),
		Batches: workflowv1.NewBatchServiceClient(c["workflow"]), Floor: workflowv1.NewFloorServiceClient(c["workflow"]),
		Payroll:  costingv1.NewPayrollServiceClient(c["costing"]),
		Overhead: costingv1.NewOverheadServiceClient(c["costing"]), Months: costingv1.NewMonthServiceClient(c["costing"]),
		Materials: materialsv1.NewMaterialsServiceClient(c["materials"]), Catalogue: materialsv1.NewCatalogueServiceClient(c["materials"]),
		Suppliers: materialsv1.NewSupplierServiceClient(c["materials"]), Stock: materialsv1.NewStockServiceClient(c["materials"]),
		Mixes: materialsv1.NewMixServiceClient(c["materials"]), Needs: materialsv1.NewNeedServiceClient(c["materials"]),
		Restock: materialsv1.NewRestockServiceClient(c["materials"]), Orders: materialsv1.NewOrderServiceClient(c["materials"]),
		Storage: materialsv1.NewStorageServiceClient(c["materials"]), Equipment: materialsv1.NewEquipmentServiceClient(c["materials"]),
		Sales: salesv1.NewSalesServiceClient(c["sales"]), Sets: salesv1.NewSetServiceClient(c["sales"]), Prices: salesv1.NewPriceAdviceServiceClient(c["sales"]),
		Taxes: salesv1.NewTaxServiceClient(c["sales"]), Payments: salesv1.NewPaymentServiceClient(c["sales"]), Receipts: salesv1.NewReceiptServiceClient(c["sales"]),
		Channels: salesv1.NewChannelServiceClient(c["sales"]), Listings: salesv1.NewListingServiceClient(c["sales"]), Markdowns: salesv1.NewMarkdownServiceClient(c["sales"]),
		Holds: salesv1.NewHoldServiceClient(c["sales"]), Deposits: salesv1.NewDepositServiceClient(c["sales"]), Offers: salesv1.NewOfferServiceClient(c["sales"]),
		Costing: costingv1.NewCostingServiceClient(c["costing"]), Rates: costingv1.NewPayRateServiceClient(c["costing"]), PayRules: costingv1.NewPayRuleServiceClient(c["costing"]),
		Books: costingv1.NewBooksServiceClient(c["costing"]), Answers: costingv1.NewAnswerServiceClient(c["costing"]),
		Logs: map[string]eventsv1.EventLogServiceClient{},
	}
	for _, name := range Producers {
		s.Logs[name] = eventsv1.NewEventLogServiceClient(c[name])
	}
	return s
}

// All reads every page of a list.
func All[T any](ctx context.Context, page func(ctx context.Context, token string) (items []T, next string, err error)) ([]T, error) {
	var all []T
	token := ""
	for {
		items, next, err := page(ctx, token)
		if err != nil {
			return nil, err
		}
		all = append(all, items...)
		if token = next; token == "" {
			return all, nil
		}
	}
}
