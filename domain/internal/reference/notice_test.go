package reference

import "testing"

func TestAFigureThatNothingIsHeldAgainstIsFound(t *testing.T) {
	row := Row{"id": "x", "a": "60.1 ft2/lb of 100", "source": "page 7"}
	heard := map[string]bool{}
	for f, changed := range changes(row, nil) {
		heard[f.Text] = notices(t, func(t testing.TB) {
			if Figures(changed["a"])[0] != "60.1" {
				t.Fatal("noticed")
			}
		})
	}
	if len(heard) != 2 || !heard["60.1"] || heard["100"] {
		t.Errorf("%v; want 60.1 noticed, 100 not, and nothing else changed", heard)
	}
}

func TestAChangeIsOneUnitOfTheLastPlace(t *testing.T) {
	for text, want := range map[string]string{"60.1": "60.2", "0.19": "0.18", "0": "1", "518.958715596330": "518.958725596330", "0.000429123454003053": "0.000429123464003053"} {
		if got := otherThan(text, 8); got != want {
			t.Errorf("%s becomes %s; want %s", text, got, want)
		}
	}
	for text, want := range map[string]string{"0.0377": "0.0387", "0.0000": "1.0000", "7": "8"} {
		if got := otherThan(text, 2); got != want {
			t.Errorf("the second figure of %s: %s; want %s", text, got, want)
		}
	}
}
