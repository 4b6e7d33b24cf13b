package entry

// SlackMS is how far a device's clock may be off and still count as right: the
// journey of a message takes time too.
const SlackMS = 2_000

// Correction is what must be added to a time of a device's wall clock, when that
// clock was found offMS behind the server's: nothing within the slack. The hub
// dates by it, and a phone estimates by it what the hub will say.
func Correction(offMS int64) int64 {
	if offMS >= -SlackMS && offMS <= SlackMS {
		return 0
	}
	return offMS
}
