package https

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/xml"
	"fmt"
	"strings"
)

// profile is a configuration profile that installs the root on an iPhone or iPad:
// payload type com.apple.security.root (developer.apple.com, Device Management,
// "CertificateRoot"). It is not signed, and says nothing that a signature of our own
// would make truer. The identifiers follow from the root, so that installing the
// same root again replaces the profile and another shop's stands beside it.
func (r *Root) profile() []byte {
	sum := sha256.Sum256(r.Cert.Raw)
	var name strings.Builder
	xml.EscapeText(&name, []byte(r.Cert.Subject.CommonName)) // a strings.Builder takes everything
	return fmt.Appendf(nil, `<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE plist PUBLIC "-//Apple//DTD PLIST 1.0//EN" "http://www.apple.com/DTDs/PropertyList-1.0.dtd">
<plist version="1.0">
<dict>
	<key>PayloadContent</key>
	<array>
		<dict>
			<key>PayloadCertificateFileName</key><string>root.cer</string>
			<key>PayloadContent</key><data>%[1]s</data>
			<key>PayloadDisplayName</key><string>%[2]s</string>
			<key>PayloadIdentifier</key><string>hoppertally.%[3]x.root</string>
			<key>PayloadType</key><string>com.apple.security.root</string>
			<key>PayloadUUID</key><string>%[4]s</string>
			<key>PayloadVersion</key><integer>1</integer>
		</dict>
	</array>
	<key>PayloadDescription</key><string>Lets this phone trust the shop's own hoppertally server, for private names and addresses only.</string>
	<key>PayloadDisplayName</key><string>%[2]s</string>
	<key>PayloadIdentifier</key><string>hoppertally.%[3]x</string>
	<key>PayloadRemovalDisallowed</key><false/>
	<key>PayloadType</key><string>Configuration</string>
	<key>PayloadUUID</key><string>%[5]s</string>
	<key>PayloadVersion</key><integer>1</integer>
</dict>
</plist>
`, base64.StdEncoding.EncodeToString(r.Cert.Raw), name.String(), sum[:8], uuid(sum[:16]), uuid(sum[16:]))
}

// uuid prints 16 bytes as RFC 9562 does, marked as version 8 (our own derivation).
func uuid(from []byte) string {
	b := [16]byte(from)
	b[6], b[8] = b[6]&0x0f|0x80, b[8]&0x3f|0x80
	return fmt.Sprintf("%X-%X-%X-%X-%X", b[:4], b[4:6], b[6:8], b[8:10], b[10:])
}
