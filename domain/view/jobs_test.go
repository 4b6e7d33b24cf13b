package view_test

import (
	"fmt"
	"slices"
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/view"
)

// A person seldom types the whole name of a job: a part of it in any case finds it, and
// a name that nobody recorded shows the most alike.
func TestAJobIsFoundByAPartOfItsName(t *testing.T) {
	day := shoptest.Morning + `
	06:00 ana powder.moved {"from":"shelf","to":"hopper","mass_mg":10000000,"lot":"W1"}
	06:01 ana run.opened {"run":"r1","booth":"b1","powder":"white","feed":"hopper","mode":"collect"}
	06:30 ana parts.coated {"run":"r1","job":"Gate 2252","count":4,"area_cm2":10000,"coats":1}
	06:31 ana parts.coated {"run":"r1","job":"Gate 2253","count":4,"area_cm2":10000,"coats":1}
	06:32 ana parts.coated {"run":"r1","job":"gate","count":4,"area_cm2":10000,"coats":1}
	`
	many := day
	for i := range 25 {
		many += fmt.Sprintf("\n07:%02d ana parts.coated {\"run\":\"r1\",\"job\":\"Rail %02d\",\"count\":1,\"area_cm2\":100,\"coats\":1}", i, i)
	}
	tests := []struct {
		day, asked  string
		found, near []string
		more        int
	}{
		{day, "2252", []string{"Gate 2252"}, nil, 0},
		{day, "GATE 22", []string{"Gate 2252", "Gate 2253"}, nil, 0},
		{day, "gate", []string{"gate"}, nil, 0}, // exactly it
		{day, "Gate 2262", nil, []string{"Gate 2252", "Gate 2253", "gate"}, 0},
		{day, "zzz", nil, nil, 0},
	}
	for _, tt := range tests {
		v := shoptest.See[view.JobsView](t, shoptest.FoldOf(t, tt.day), shoptest.Reader, "jobs", fmt.Sprintf(`{"job":%q}`, tt.asked))
		if !slices.Equal(v.Found, tt.found) || !slices.Equal(v.Near, tt.near) || v.More != tt.more {
			t.Errorf("%q: %+v; want %q, near it %q, and %d more", tt.asked, v, tt.found, tt.near, tt.more)
		}
	}
	v := shoptest.See[view.JobsView](t, shoptest.FoldOf(t, many), shoptest.Reader, "jobs", `{"job":"rail"}`)
	if len(v.Found) != 20 || v.More != 5 {
		t.Errorf("%+v; want 20 jobs listed and 5 more", v)
	}
}
