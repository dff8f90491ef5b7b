package entries

import (
	"crypto/sha256"
	"encoding/hex"
)

// secretHash is how secrets of programs and tablets are stored: they are long
// and random, so that a fast hash is enough.
func SecretHash(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}
