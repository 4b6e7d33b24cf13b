package main

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"hoppertally/server/auth"
	"hoppertally/server/house"
)

var codeMark = regexp.MustCompile(`#in=([0-9A-Z-]{19})`)

// Who mistypes a folder must not be told that nobody works there, nor leave a shop behind.
func TestPeopleAreLookedForInAShopThatIsThereOnly(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "typo")
	for _, args := range [][]string{{"list"}, {"invite", "Ana"}, {"passphrase", "Ana"}, {"sign-out", "Ana"}, {"add", "Ana", "--role", "clerk"}} {
		a := hoppertally(t, "polvo azul 7\n", append([]string{"person", "--data", dir}, args...)...)
		if a.code != exitUsage || a.out != "" || !strings.Contains(a.err, "no shop's data in "+dir) {
			t.Errorf("person %v: %+v", args, a)
		}
		if _, err := os.Stat(dir); err == nil {
			t.Fatalf("person %v made the folder", args)
		}
	}
	if a := hoppertally(t, "", "person", "--data", dir, "add", "Mia", "--role", "manager"); a.code != exitOK || !strings.Contains(a.out, "A new shop in "+dir) {
		t.Errorf("the first manager of a new shop: %+v", a)
	}
}

// The whole life of a shop's people from the terminal, each command on its own as
// somebody types it.
func TestPeopleFromTheCommandLine(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "shop")
	person := func(stdin string, args ...string) typed {
		t.Helper()
		return hoppertally(t, stdin, append([]string{"person", "--data", dir}, args...)...)
	}
	if a := person("", "add", "Ana", "--role", "coater"); a.code != exitUsage || !strings.Contains(a.err, "first person must be a manager") {
		t.Errorf("a coater first: %+v", a)
	}
	mia := person("", "add", "Mia", "--role", "manager")
	ana := person("", "add", "Ana", "--role", "coater")
	for _, a := range []typed{mia, ana} {
		if a.code != exitOK || codeMark.FindString(a.out) == "" {
			t.Fatalf("%+v", a)
		}
	}
	if a := person("", "add", "ana", "--role", "clerk"); a.code != exitFailed || !strings.Contains(a.err, "works here already") {
		t.Errorf("a second Ana: %+v", a)
	}
	list := person("", "list")
	if lines := strings.Split(strings.TrimSpace(list.out), "\n"); len(lines) != 2 || !strings.Contains(lines[0], "coater") || !strings.HasSuffix(lines[0], "Ana") {
		t.Errorf("list:\n%s", list.out)
	}
	if a := person("short\n", "passphrase", "Ana"); a.code != exitUsage || !strings.Contains(a.err, "8 to 256") {
		t.Errorf("a short passphrase: %+v", a)
	}
	if a := person("", "passphrase", "Ana"); a.code != exitUsage {
		t.Errorf("no passphrase at all: %+v", a)
	}
	if a := person("polvo azul 7\r\n", "passphrase", "ANA"); a.code != exitOK {
		t.Fatalf("a passphrase: %+v", a)
	}
	if a := person("", "invite", "Zoe"); a.code != exitUsage || !strings.Contains(a.err, "nobody here") {
		t.Errorf("an invitation for nobody: %+v", a)
	}

	h, err := house.Open(dir, house.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if h.Auth.NeedsSetUp() {
		t.Error("a shop with a manager still waits to be set up")
	}
	d := auth.Device{ID: "d", Secret: "made by the phone itself", Address: "a"}
	if _, err := h.Auth.SignIn("Ana", "polvo azul 7", d); err != nil {
		t.Errorf("by passphrase: %v", err)
	}
	if g, err := h.Auth.SignInByCode(codeMark.FindStringSubmatch(mia.out)[1], d); err != nil || g.Person.Role != "manager" {
		t.Errorf("by code: %+v, %v", g, err)
	}
	if a := person("", "list"); a.code != exitFailed || !strings.Contains(a.err, "in use") {
		t.Errorf("while the server runs: %+v", a)
	}
	if err := h.Close(); err != nil {
		t.Fatal(err)
	}

	if a := person("", "sign-out", "Ana"); a.code != exitOK || !strings.Contains(a.out, "1 sessions of Ana ended") {
		t.Errorf("sign-out: %+v", a)
	}
	if a := hoppertally(t, "", "verify", "--data", dir); a.code != exitOK || !strings.Contains(a.out, "2 entries") {
		t.Errorf("verify: %+v", a)
	}
	if info, err := os.Stat(dir); err != nil || info.Mode().Perm() != 0o700 {
		t.Errorf("the folder is %v, %v; want only its owner to enter", info.Mode(), err)
	}
}

func TestVerifyFindsADamagedShop(t *testing.T) {
	dir := t.TempDir()
	h, err := house.Open(dir, house.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := h.Desk.AddPerson(context.Background(), "", "Mia", "manager"); err != nil {
		t.Fatal(err)
	}
	if err := h.Close(); err != nil {
		t.Fatal(err)
	}
	tables, err := filepath.Glob(filepath.Join(dir, "badger", "*.sst"))
	if err != nil || len(tables) == 0 {
		t.Fatalf("no table to damage: %v, %v", tables, err)
	}
	for _, name := range tables { // as after a badly copied folder: the log is gone, its witness stays
		if err := errors.Join(os.Remove(name), os.Remove(filepath.Join(dir, "badger", "MANIFEST"))); err != nil && !errors.Is(err, os.ErrNotExist) {
			t.Fatal(err)
		}
	}
	if a := hoppertally(t, "", "verify", "--data", dir); a.code != exitFailed || !strings.Contains(a.err, "once reached") {
		t.Errorf("%+v", a)
	}
}
