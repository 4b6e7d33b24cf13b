package task_test

import (
	"slices"
	"testing"

	"hoppertally/domain/internal/shoptest"
	"hoppertally/domain/task"
)

func TestTheOnlyManagerStays(t *testing.T) {
	f := shoptest.FoldOf(t, shoptest.Morning)
	for _, tt := range []struct {
		role, gone string
		want       []string // fields with an error
	}{{"manager", "", nil}, {"clerk", "", []string{"role"}}, {"manager", "yes", []string{""}}} {
		p := task.Make(f, shoptest.Reader, "set.person", map[string]string{"person": "mia", "name": "Mia", "role": tt.role, "gone": tt.gone}, shoptest.IDs())
		var got []string
		for _, e := range p.Errors {
			if got = append(got, e.Field); e.Code != "form.last_manager" {
				t.Errorf("%+v: %v", tt, e)
			}
		}
		if !slices.Equal(got, tt.want) {
			t.Errorf("%+v: errors at %q", tt, got)
		}
	}
}
