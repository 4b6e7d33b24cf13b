package shop

import (
	"crypto/sha256"
	"encoding/hex"
)

// Hash is statehash.Of, which this package's own tests cannot import.
func (f *Fold) Hash() string {
	h := sha256.Sum256(f.Save())
	return hex.EncodeToString(h[:])
}
