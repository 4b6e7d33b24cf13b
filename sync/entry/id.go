package entry

// NewID makes a UUIDv7 of RFC 9562, section 5.7: 48 bits of ms since 1970 UTC,
// then 74 bits of rnd, which must come from a cryptographic source. The first
// four bits of rnd[0] give way to the version, the first two of rnd[2] to the
// variant. It panics if ms is negative or needs more than 48 bits (year 10889):
// a device with such a clock passes 0.
func NewID(ms int64, rnd [10]byte) string {
	if ms < 0 || ms >= 1<<48 {
		panic("entry: time of an id is out of range")
	}
	var u [16]byte
	for i := range 6 {
		u[i] = byte(ms >> (40 - 8*i))
	}
	copy(u[6:], rnd[:])
	u[6] = u[6]&0x0f | 0x70
	u[8] = u[8]&0x3f | 0x80
	const hex = "0123456789abcdef"
	out := make([]byte, 0, 36)
	for i, b := range u {
		if i == 4 || i == 6 || i == 8 || i == 10 {
			out = append(out, '-')
		}
		out = append(out, hex[b>>4], hex[b&15])
	}
	return string(out)
}

// ValidID tells whether b is a UUIDv7 in the canonical lower-case form.
func ValidID[T string | []byte](b T) bool {
	if len(b) != 36 || b[14] != '7' {
		return false
	}
	for i := 0; i < len(b); i++ {
		c := b[i]
		switch i {
		case 8, 13, 18, 23:
			if c != '-' {
				return false
			}
		case 19:
			if c != '8' && c != '9' && c != 'a' && c != 'b' {
				return false
			}
		default:
			if (c < '0' || c > '9') && (c < 'a' || c > 'f') {
				return false
			}
		}
	}
	return true
}
