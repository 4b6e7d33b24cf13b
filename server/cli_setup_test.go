package main

import (
	"strings"
	"testing"

	"hoppertally/server/qr"
)

func TestTheWayIntoANewShopIsPrintedAsCodeLinkAndPicture(t *testing.T) {
	var out strings.Builder
	offerSetUp(&out, "http://localhost:8377", "0A1B-2C3D-4E5F-6G7H")
	const link = "http://localhost:8377/#setup=0A1B-2C3D-4E5F-6G7H"
	picture, err := qr.Terminal(link, false)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"\n  0A1B-2C3D-4E5F-6G7H\n", link, picture} {
		if !strings.Contains(out.String(), want) {
			t.Errorf("%q lacks %q", out.String(), want)
		}
	}
	if strings.Contains(out.String(), "?") {
		t.Error("the code must not be in a query: servers and proxies log those")
	}
}
