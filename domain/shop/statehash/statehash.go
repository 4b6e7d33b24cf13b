// Package statehash names a state of the shop by its SHA-256. It stands apart because
// whoever imports a hash carries the whole of Go's cryptography, 100 kB of the phone's
// program, and the phone compares no states.
package statehash

import (
	"crypto/sha256"
	"encoding/hex"

	"hoppertally/domain/shop"
)

// Of is the hex SHA-256 of the canonical state.
func Of(f *shop.Fold) string {
	h := sha256.Sum256(f.Save())
	return hex.EncodeToString(h[:])
}
