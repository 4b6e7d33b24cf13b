package api

import "strings"

// Document is openapi.json, for the tests outside.
func Document() []byte { return document }

// Routes lists the registered routes as method, path and who may, in the words of
// openapi.json.
func Routes() (list []string) {
	words := map[who]string{anyone: "", knownOne: "anyone signed in", handIn: "anyone signed in, also on a phone that was shut out", manager: "manager"}
	for _, r := range (&Server{metrics: &metrics{}}).routes() {
		parts := strings.Split(r.path, "/")
		for i, p := range parts {
			if strings.HasPrefix(p, ":") {
				parts[i] = "{" + p[1:] + "}"
			}
		}
		list = append(list, r.method+" "+strings.Join(parts, "/")+" "+words[r.who])
	}
	return list
}

// GuestsMax is for tests.
const GuestsMax = guestsMax

// OwnMax and StreamsMax are for tests.
const OwnMax, StreamsMax = ownMax, streamsMax

// RateBurst is for tests.
const RateBurst = rateBurst
