// Command gen writes the TypeScript types of everything that crosses from the
// core to the page, read off the Go structs themselves:
//
//	go run ./pwa/gen          writes pwa/src/bridge/types.gen.ts
//	go run ./pwa/gen -check   changes nothing; exits 1 when the file is stale
//
// It is run from the top of the repository.
package main

import (
	"bytes"
	"flag"
	"fmt"
	"os"
)

const target = "pwa/src/bridge/types.gen.ts"

func main() {
	check := flag.Bool("check", false, "exit 1 when the file is stale")
	flag.Parse()
	if err := run(*check); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(check bool) error {
	want := generate()
	have, err := os.ReadFile(target)
	if err != nil && !os.IsNotExist(err) {
		return fmt.Errorf("read generated types: %w", err)
	}
	if bytes.Equal(have, want) {
		return nil
	}
	if check {
		return fmt.Errorf("%s is stale: run go run ./pwa/gen", target)
	}
	return os.WriteFile(target, want, 0o644)
}
