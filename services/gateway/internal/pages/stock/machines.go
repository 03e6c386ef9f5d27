package stock

import (
	"net/http"

	"tackfree/pkg/fault"
	materialsv1 "tackfree/proto/tackfree/materials/v1"
	"tackfree/services/gateway/internal/web"
)

// recordService notes that a machine was serviced: its hours until the next service begin anew.
func recordService(w http.ResponseWriter, a *web.Asked) error {
	_, err := a.Kit.Suite.Equipment.RecordService(a.Context(), &materialsv1.RecordServiceRequest{RequestId: a.RequestID(), Equipment: a.Typed("machine"),
		ServicedBy: a.Typed("by"), Note: a.Typed("note"), CostNote: a.Typed("cost")})
	if fault.Of(err) != nil {
		return showKeepingWith(w, a, err)
	}
	if err != nil {
		return err
	}
	return a.After(w, "/stock/keeping", "keeping.machines.done")
}
