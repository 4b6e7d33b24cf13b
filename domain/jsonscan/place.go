package jsonscan

// What follows reads one thing at b[i] and says where it ends. A place of -1, where
// something was not understood before, leads to -1.

// IntMax is the largest whole number that JavaScript carries exactly.
const IntMax = 1<<53 - 1

// Lit goes past s if it stands at b[i]; else it is -1.
func Lit(b []byte, i int, s string) int {
	if end := i + len(s); i >= 0 && end <= len(b) && string(b[i:end]) == s {
		return end
	}
	return -1
}

// TextEnd walks from b[i], after an opening quotation mark, to the closing one; -1 if
// there is none, or if the text holds an escape or a control character.
func TextEnd(b []byte, i int) int {
	end, _ := textEnd(b, i)
	return end
}

// textEnd is TextEnd; sum tells texts apart, mostly.
func textEnd(b []byte, i int) (end int, sum uint32) {
	if i < 0 {
		return -1, 0
	}
	for j, c := range b[i:] {
		if c == '"' {
			return i + j, sum
		}
		if c < ' ' || c == '\\' {
			break
		}
		sum = sum*31 + uint32(c)
	}
	return -1, 0
}

// Whole reads a whole number from 0 to IntMax at b[i] and goes past it; next is -1 if
// there is none.
func Whole(b []byte, i int) (n int64, next int) {
	if i < 0 {
		return 0, -1
	}
	j := i
	for ; j < len(b) && b[j]-'0' <= 9; j++ {
		n = n*10 + int64(b[j]-'0')
	}
	if digits := j - i; digits == 0 || digits > 16 || n > IntMax || digits > 1 && b[i] == '0' {
		return 0, -1
	}
	return n, j
}

// PastWhole goes past what [Whole] reads, for who needs not know what it is.
func PastWhole(b []byte, i int) (next int) {
	if i < 0 {
		return -1
	}
	j := i
	for ; j < len(b) && b[j]-'0' <= 9; j++ {
	}
	switch digits := j - i; {
	case digits == 0 || digits > 1 && b[i] == '0':
		return -1
	case digits > 15: // may be too large
		_, j = Whole(b, i)
	}
	return j
}

// ObjectEnd goes past the object that begins at b[i], following only brackets and
// texts; -1 if there is none or if it does not end.
func ObjectEnd(b []byte, i int) int {
	if i < 0 || i >= len(b) || b[i] != '{' {
		return -1
	}
	if i = ElementEnd(b, i+1); i < 0 {
		return -1
	}
	for b[i] == ',' {
		if i = ElementEnd(b, i+1); i < 0 {
			return -1
		}
	}
	return i + 1
}

// PastText goes past the text that begins at b[i], following only quotes and escapes; -1
// if there is none or if it does not end.
func PastText(b []byte, i int) int {
	if i < 0 || i >= len(b) || b[i] != '"' {
		return -1
	}
	for i++; i < len(b); i++ {
		switch b[i] {
		case '"':
			return i + 1
		case '\\':
			i++
		}
	}
	return -1
}

// ElementEnd walks from b[i] to the comma or the bracket that ends what stands there,
// following only brackets and texts; -1 if there is none.
func ElementEnd(b []byte, i int) int {
	depth := 0
	for ; i < len(b); i++ {
		switch b[i] {
		case '"':
			if i = PastText(b, i) - 1; i < 0 {
				return -1
			}
		case '{', '[':
			depth++
		case '}', ']':
			if depth == 0 {
				return i
			}
			depth--
		case ',':
			if depth == 0 {
				return i
			}
		}
	}
	return -1
}
