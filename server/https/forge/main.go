// Forge makes what a thief of the shop's root key would make: a certificate for any
// host. Tests show that browsers refuse it for public ones.
//
//	go run ./server/https/forge FOLDER HOST > cert-and-key.pem
package main

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"log"
	"math/big"
	"os"
	"path/filepath"
	"time"
)

func read(dir, name string) []byte {
	b, err := os.ReadFile(filepath.Join(dir, name))
	if err != nil {
		log.Fatal(err)
	}
	block, _ := pem.Decode(b)
	if block == nil {
		log.Fatalf("%s holds no PEM", name)
	}
	return block.Bytes
}

func must[T any](v T, err error) T {
	if err != nil {
		log.Fatal(err)
	}
	return v
}

func main() {
	if len(os.Args) != 3 {
		log.Fatal("forge FOLDER HOST")
	}
	dir, host := os.Args[1], os.Args[2]
	root := must(x509.ParseCertificate(read(dir, "root.crt")))
	rootKey := must(x509.ParsePKCS8PrivateKey(read(dir, "root.key")))
	key := must(ecdsa.GenerateKey(elliptic.P256(), rand.Reader))
	t := &x509.Certificate{SerialNumber: big.NewInt(time.Now().UnixNano()), Subject: pkix.Name{CommonName: host}, DNSNames: []string{host},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(24 * time.Hour), KeyUsage: x509.KeyUsageDigitalSignature,
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, BasicConstraintsValid: true}
	der := must(x509.CreateCertificate(rand.Reader, t, root, key.Public(), rootKey))
	for _, b := range []*pem.Block{{Type: "CERTIFICATE", Bytes: der}, {Type: "CERTIFICATE", Bytes: root.Raw}, {Type: "PRIVATE KEY", Bytes: must(x509.MarshalPKCS8PrivateKey(key))}} {
		if err := pem.Encode(os.Stdout, b); err != nil {
			log.Fatal(err)
		}
	}
}
