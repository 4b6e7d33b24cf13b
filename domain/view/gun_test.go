package view_test

import (
	"slices"
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/view"
)

func TestSetUpsAreOfferedInTheOrderToTryThem(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning+`
	05:30 ana setup.set {"setup":"s1","name":"Never worked","powder":"white","kv":90,"worked":false}
	05:31 ana setup.set {"setup":"s2","name":"Other powder","powder":"black","kv":60,"worked":true}
	05:32 ana setup.set {"setup":"s3","name":"Worked","powder":"white","kv":60,"main_kpa":150,"worked":true}
	05:33 ana output.tested {"booth":"b1","powder":"white","main_kpa":150,"mg_per_min":120000}
	05:34 ana output.tested {"booth":"b1","powder":"white","main_kpa":100,"mg_per_min":80000}
	05:35 ana output.tested {"booth":"b1","powder":"white","main_kpa":150,"mg_per_min":125000}
	05:36 ana output.tested {"booth":"b1","powder":"black","main_kpa":150,"mg_per_min":99000}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"waste","setup":"s3"}
	06:05 ana run.opened {"run":"r0","booth":"b1","powder":"white","feed":"hopper","mode":"waste","setup":"s1"}
	06:09 ana run.opened {"run":"r2","booth":"b1","powder":"white","feed":"hopper","mode":"waste","setup":"s3"}
	`)
	out, err := view.Value(f, shoptest.Reader, "gun", nil)
	if err != nil {
		t.Fatal(err)
	}
	v := out.(view.GunView)
	var names []string
	for _, s := range v.Setups {
		names = append(names, s.Name)
	}
	if !slices.Equal(names, []string{"Worked", "Never worked"}) || v.Setup == nil || v.Setup.Setup != "s3" || v.Setups[0].Runs != 2 {
		t.Errorf("offered %v, in use %+v", names, v.Setup)
	}
	if len(v.Outputs) != 2 || v.Outputs[0].Flow != "80 g/min" || v.Outputs[1].Flow != "125 g/min" {
		t.Errorf("outputs %+v: one of each main air, the latest, of the powder in the gun", v.Outputs)
	}
}
