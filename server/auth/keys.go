package auth

import (
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"time"
)

const keyPrefix = "auth/key/"

// KeyAgeMax is how old a signing key grows before Open puts a new one beside it.
const KeyAgeMax = 90 * 24 * time.Hour

// key is one signing key. Old ones verify until the last token they signed is over.
type key struct {
	KID       string `json:"kid"`
	Seed      []byte `json:"seed"`
	MadeMS    int64  `json:"made_ms"`
	RetiredMS int64  `json:"retired_ms,omitempty"` // 0 while it signs

	private ed25519.PrivateKey
}

func (k *key) public() ed25519.PublicKey { return k.private.Public().(ed25519.PublicKey) }

func newKey(now time.Time) key {
	k := key{Seed: random(ed25519.SeedSize), MadeMS: now.UnixMilli()}
	k.private = ed25519.NewKeyFromSeed(k.Seed)
	h := sha256.Sum256(k.public())
	k.KID = hex.EncodeToString(h[:8])
	return k
}

func (a *Auth) loadKeys() error {
	err := each(a, keyPrefix, func(_ string, k key) {
		k.private = ed25519.NewKeyFromSeed(k.Seed)
		a.keys = append(a.keys, k)
	})
	if err != nil {
		return err
	}
	slices.SortFunc(a.keys, func(x, y key) int { return int(y.MadeMS - x.MadeMS) })
	if len(a.keys) == 0 || a.now().Sub(time.UnixMilli(a.keys[0].MadeMS)) > KeyAgeMax {
		return a.RotateKeys()
	}
	return nil
}

// RotateKeys makes a new signing key. Tokens signed with the key before stay
// good until they expire; keys older than that are deleted.
func (a *Auth) RotateKeys() error {
	a.mu.Lock()
	defer a.mu.Unlock()
	now := a.now()
	changes := map[string][]byte{}
	keys := []key{newKey(now)}
	for _, k := range a.keys {
		if k.RetiredMS == 0 {
			k.RetiredMS = now.UnixMilli()
		}
		if a.verifies(&k) {
			keys = append(keys, k)
		} else {
			changes[keyPrefix+k.KID] = nil
		}
	}
	for i := range keys[:min(2, len(keys))] {
		changes[keyPrefix+keys[i].KID] = encode(keys[i])
	}
	if err := a.write(changes); err != nil {
		return err
	}
	a.keys = keys
	return nil
}

// verifies tells whether a token signed with k can still be in its time.
func (a *Auth) verifies(k *key) bool {
	return k.RetiredMS == 0 || a.now().Sub(time.UnixMilli(k.RetiredMS)) <= AccessLife+leeway
}
