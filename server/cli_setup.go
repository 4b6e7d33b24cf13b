package main

import (
	"fmt"
	"io"

	"hoppertally/server/qr"
)

// offerSetUp prints the way into a new shop: the code, the address with it, and the
// same as a picture for a phone's camera. The code stands behind the '#', which no
// browser sends to a server, so it is in nobody's log.
func offerSetUp(w io.Writer, origin, code string) {
	link := origin + "/#setup=" + code
	fmt.Fprintf(w, "Nobody is in charge yet. Set the shop up once, with this code:\n  %s\n  %s\n", code, link)
	if picture, err := qr.Terminal(link, isTerminal(w)); err == nil { // too long to draw: the link is there
		fmt.Fprint(w, picture)
	}
}
