package edge

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"github.com/grpc-ecosystem/grpc-gateway/v2/runtime"
	"google.golang.org/grpc"

	costingv1 "tackfree/proto/tackfree/costing/v1"
	intakev1 "tackfree/proto/tackfree/intake/v1"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	salesv1 "tackfree/proto/tackfree/sales/v1"
	workflowv1 "tackfree/proto/tackfree/workflow/v1"
)

// routing registers the routes of one service of a contract, over a connection.
type routing func(ctx context.Context, mux *runtime.ServeMux, conn grpc.ClientConnInterface) error

func on[C any](register func(context.Context, *runtime.ServeMux, C) error, client func(grpc.ClientConnInterface) C) routing {
	return func(ctx context.Context, mux *runtime.ServeMux, conn grpc.ClientConnInterface) error {
		return register(ctx, mux, client(conn))
	}
}

// served are all services of the contracts but the event logs, which are for services: of those there
// is one at every producer.
var served = map[string][]routing{
	"intake": {
		on(intakev1.RegisterIntakeServiceHandlerClient, intakev1.NewIntakeServiceClient),
		on(intakev1.RegisterLotServiceHandlerClient, intakev1.NewLotServiceClient),
		on(intakev1.RegisterPhotoServiceHandlerClient, intakev1.NewPhotoServiceClient),
		on(intakev1.RegisterProspectServiceHandlerClient, intakev1.NewProspectServiceClient),
		on(intakev1.RegisterClientServiceHandlerClient, intakev1.NewClientServiceClient),
		on(intakev1.RegisterCommissionServiceHandlerClient, intakev1.NewCommissionServiceClient),
		on(intakev1.RegisterAssessmentServiceHandlerClient, intakev1.NewAssessmentServiceClient),
	},
	"workflow": {
		on(workflowv1.RegisterSignInServiceHandlerClient, workflowv1.NewSignInServiceClient),
		on(workflowv1.RegisterPeopleServiceHandlerClient, workflowv1.NewPeopleServiceClient),
		on(workflowv1.RegisterRouteServiceHandlerClient, workflowv1.NewRouteServiceClient),
		on(workflowv1.RegisterStageServiceHandlerClient, workflowv1.NewStageServiceClient),
		on(workflowv1.RegisterClockServiceHandlerClient, workflowv1.NewClockServiceClient),
		on(workflowv1.RegisterClockReviewServiceHandlerClient, workflowv1.NewClockReviewServiceClient),
		on(workflowv1.RegisterFinishServiceHandlerClient, workflowv1.NewFinishServiceClient),
		on(workflowv1.RegisterClimateServiceHandlerClient, workflowv1.NewClimateServiceClient),
		on(workflowv1.RegisterPartTestServiceHandlerClient, workflowv1.NewPartTestServiceClient),
		on(workflowv1.RegisterStationServiceHandlerClient, workflowv1.NewStationServiceClient),
		on(workflowv1.RegisterInspectionServiceHandlerClient, workflowv1.NewInspectionServiceClient),
		on(workflowv1.RegisterOutsideWorkServiceHandlerClient, workflowv1.NewOutsideWorkServiceClient),
		on(workflowv1.RegisterBatchServiceHandlerClient, workflowv1.NewBatchServiceClient),
		on(workflowv1.RegisterFloorServiceHandlerClient, workflowv1.NewFloorServiceClient),
		on(workflowv1.RegisterPlanningServiceHandlerClient, workflowv1.NewPlanningServiceClient),
		on(workflowv1.RegisterEstimateServiceHandlerClient, workflowv1.NewEstimateServiceClient),
		on(workflowv1.RegisterSwapServiceHandlerClient, workflowv1.NewSwapServiceClient),
		on(workflowv1.RegisterComebackServiceHandlerClient, workflowv1.NewComebackServiceClient),
	},
	"materials": {
		on(materialsv1.RegisterMaterialsServiceHandlerClient, materialsv1.NewMaterialsServiceClient),
		on(materialsv1.RegisterCatalogueServiceHandlerClient, materialsv1.NewCatalogueServiceClient),
		on(materialsv1.RegisterSupplierServiceHandlerClient, materialsv1.NewSupplierServiceClient),
		on(materialsv1.RegisterStockServiceHandlerClient, materialsv1.NewStockServiceClient),
		on(materialsv1.RegisterMixServiceHandlerClient, materialsv1.NewMixServiceClient),
		on(materialsv1.RegisterNeedServiceHandlerClient, materialsv1.NewNeedServiceClient),
		on(materialsv1.RegisterRestockServiceHandlerClient, materialsv1.NewRestockServiceClient),
		on(materialsv1.RegisterOrderServiceHandlerClient, materialsv1.NewOrderServiceClient),
		on(materialsv1.RegisterStorageServiceHandlerClient, materialsv1.NewStorageServiceClient),
		on(materialsv1.RegisterEquipmentServiceHandlerClient, materialsv1.NewEquipmentServiceClient),
	},
	"sales": {
		on(salesv1.RegisterSalesServiceHandlerClient, salesv1.NewSalesServiceClient),
		on(salesv1.RegisterSetServiceHandlerClient, salesv1.NewSetServiceClient),
		on(salesv1.RegisterChannelServiceHandlerClient, salesv1.NewChannelServiceClient),
		on(salesv1.RegisterTaxServiceHandlerClient, salesv1.NewTaxServiceClient),
		on(salesv1.RegisterPaymentServiceHandlerClient, salesv1.NewPaymentServiceClient),
		on(salesv1.RegisterReceiptServiceHandlerClient, salesv1.NewReceiptServiceClient),
		on(salesv1.RegisterListingServiceHandlerClient, salesv1.NewListingServiceClient),
		on(salesv1.RegisterMarkdownServiceHandlerClient, salesv1.NewMarkdownServiceClient),
		on(salesv1.RegisterHoldServiceHandlerClient, salesv1.NewHoldServiceClient),
		on(salesv1.RegisterDepositServiceHandlerClient, salesv1.NewDepositServiceClient),
		on(salesv1.RegisterOfferServiceHandlerClient, salesv1.NewOfferServiceClient),
		on(salesv1.RegisterPriceAdviceServiceHandlerClient, salesv1.NewPriceAdviceServiceClient),
	},
	"costing": {
		on(costingv1.RegisterCostingServiceHandlerClient, costingv1.NewCostingServiceClient),
		on(costingv1.RegisterPayRateServiceHandlerClient, costingv1.NewPayRateServiceClient),
		on(costingv1.RegisterPayRuleServiceHandlerClient, costingv1.NewPayRuleServiceClient),
		on(costingv1.RegisterPayrollServiceHandlerClient, costingv1.NewPayrollServiceClient),
		on(costingv1.RegisterOverheadServiceHandlerClient, costingv1.NewOverheadServiceClient),
		on(costingv1.RegisterBooksServiceHandlerClient, costingv1.NewBooksServiceClient),
		on(costingv1.RegisterMonthServiceHandlerClient, costingv1.NewMonthServiceClient),
		on(costingv1.RegisterAnswerServiceHandlerClient, costingv1.NewAnswerServiceClient),
	},
}

func (e *edge) register() error {
	for _, name := range slices.Sorted(maps.Keys(served)) {
		conn, err := e.Conns(name)
		if err != nil {
			return fmt.Errorf("edge: %s: %w", name, err)
		}
		e.conns[name] = conn
		for _, register := range served[name] {
			if err := register(context.Background(), e.mux, conn); err != nil {
				return fmt.Errorf("edge: %s: %w", name, err)
			}
		}
	}
	return nil
}
