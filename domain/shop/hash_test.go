package shop

import (
	"crypto/sha256"
	"encoding/hex"
)

// hash is the SHA-256 of a fold's state, in hex.
func hash(f *Fold) string {
	h := sha256.Sum256(f.Save())
	return hex.EncodeToString(h[:])
}
