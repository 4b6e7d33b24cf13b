// Command gen writes the TypeScript types of everything that crosses from the
// core to the page, read off the Go structs themselves:
//
//	go run ./pwa/gen          writes pwa/src/bridge/types.gen.ts
//	go run ./pwa/gen -check   changes nothing; exits 1 when the file is stale
//	go run ./pwa/gen -calcs   prints what every calculation takes and answers, as JSON
//
// It is run from the top of the repository.
package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"os"

	"hoppertally/domain/calc"
)

const target = "pwa/src/bridge/types.gen.ts"

func main() {
	check := flag.Bool("check", false, "exit 1 when the file is stale")
	calcs := flag.Bool("calcs", false, "print the descriptions of all calculations")
	flag.Parse()
	work := func() error { return run(*check) }
	if *calcs {
		work = printCalcs
	}
	if err := work(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// printCalcs is for tests of the phone's words.
func printCalcs() error {
	list := []calc.Description{}
	for _, c := range calc.All() {
		d, err := calc.Describe(c.Name)
		if err != nil {
			return err
		}
		list = append(list, d)
	}
	return json.NewEncoder(os.Stdout).Encode(list)
}

func run(check bool) error {
	if err := untyped(); err != nil {
		return err
	}
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
