package main

import (
	"crypto/tls"
	"encoding/json"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"golang.org/x/sys/unix"
)

// The unit locks the server in. Here the built program runs behind the same bars, put up
// from the unit's own lines: its file system, capabilities, address families and system
// calls. systemd itself need not run.

func TestTheServiceWorksUnderTheFiltersOfItsUnit(t *testing.T) {
	cell := newCell(t)
	args := []string{"--addr", "127.0.0.1:0", "--trust-addr", "127.0.0.1:0", "--backup-dir", "/mnt/backups", "--backup-every", "1s"}
	for _, way := range []string{"local", "off"} {
		unit := hoppertally(t, "", append([]string{"service", "--binary", "/mnt/bin/hoppertally", "--data", "/mnt/shop", "--", "--https", way}, args...)...).out
		if out := cell.run(t, unit, way); out != "" {
			t.Errorf("--https %s: %s", way, out)
		}
	}
	if made, err := filepath.Glob(filepath.Join(cell.dir, "backups", "hoppertally-*")); err != nil || len(made) == 0 {
		t.Errorf("no backup was made: %v", err)
	}
	// The bars are there: without these lines it must not work.
	unit := hoppertally(t, "", append([]string{"service", "--binary", "/mnt/bin/hoppertally", "--data", "/mnt/shop", "--", "--https", "local"}, args...)...).out
	for line, without := range map[string]string{
		"the machine's addresses":   strings.Replace(unit, "AF_UNIX AF_NETLINK", "AF_UNIX", 1),
		"a folder to write in":      regexp.MustCompile(`(?m)^ReadWritePaths=.*\n`).ReplaceAllString(unit, ""),
		"a program that it can see": strings.Replace(unit, "/mnt/bin/", cell.dir+"/bin/", 1),
	} {
		if out := cell.run(t, without, "local"); out == "" {
			t.Errorf("it works without %s", line)
		}
	}
}

// cell is a place to lock the program in.
type cell struct{ dir string }

// newCell has the folders bin, shop and backups, which stand under /mnt inside.
func newCell(t *testing.T) *cell {
	t.Helper()
	dir := t.TempDir()
	for _, name := range []string{"bin", "shop", "backups"} {
		if err := os.Mkdir(filepath.Join(dir, name), 0o700); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Rename(build(t), filepath.Join(dir, "bin", "hoppertally")); err != nil {
		t.Fatal(err)
	}
	return &cell{dir}
}

var served = regexp.MustCompile(`(https?)://[^:\s]+:(\d+)`)

// run starts what the unit says, asks it, and ends it. It gives what went wrong.
func (c *cell) run(t *testing.T, unit, way string) (fault string) {
	t.Helper()
	spec, err := json.Marshal(barsOf(t, unit, c.dir))
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(os.Args[0], "-test.run=^TestRunInACell$")
	cmd.Env = append(os.Environ(), inCell+"="+string(spec))
	cmd.SysProcAttr = &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWUSER | syscall.CLONE_NEWNS,
		UidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}},
		GidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}}}
	out, in, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd.Stdout, cmd.Stderr = in, in
	if err := cmd.Start(); err != nil {
		t.Fatalf("nobody may make name spaces here: %v", err)
	}
	in.Close()
	lines := make(chan string, 100)
	go func() {
		defer close(lines)
		b := make([]byte, 64<<10)
		for {
			n, err := out.Read(b)
			if lines <- string(b[:n]); err != nil {
				return
			}
		}
	}()
	said, port := "", ""
	for end := time.After(30 * time.Second); port == ""; {
		select {
		case text, ok := <-lines:
			said += text
			if m := served.FindStringSubmatch(said); m != nil {
				port = m[2]
			}
			if !ok {
				cmd.Wait()
				return "it ended: " + said
			}
		case <-end:
			cmd.Process.Kill()
			cmd.Wait()
			return "it does not come up: " + said
		}
	}
	go func() {
		for text := range lines {
			said += text
		}
	}()
	scheme := map[string]string{"local": "https", "off": "http"}[way]
	if err := hello(scheme + "://127.0.0.1:" + port + "/api/v1/hello"); err != nil {
		fault = err.Error()
	}
	time.Sleep(2500 * time.Millisecond) // two backups
	cmd.Process.Signal(syscall.SIGTERM)
	if err := cmd.Wait(); err != nil {
		fault += " it ended with " + err.Error()
	}
	if fault != "" {
		fault += "; it said: " + said
	}
	return fault
}

func hello(url string) error {
	c := &http.Client{Timeout: 10 * time.Second, Transport: &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}, DisableKeepAlives: true}}
	res, err := c.Get(url)
	if err != nil {
		return err
	}
	defer res.Body.Close()
	if b, err := io.ReadAll(res.Body); err != nil || res.StatusCode != http.StatusOK {
		return &exit{res.StatusCode, err}
	} else if !json.Valid(b) {
		return io.ErrUnexpectedEOF
	}
	return nil
}

// bars are what a unit allows.
type bars struct {
	Program  []string // with its arguments
	Outside  string   // where the folders under /mnt are kept
	Writable []string
	Hidden   []string
	Caps     []int
	Families []uint32
	Calls    []uint32 // numbers; none: not filtered
}

// barsOf reads a unit.
func barsOf(t *testing.T, unit, outside string) bars {
	t.Helper()
	lines := map[string][]string{}
	for line := range strings.Lines(unit) {
		if key, value, ok := strings.Cut(strings.TrimSpace(line), "="); ok {
			lines[key] = append(lines[key], strings.Fields(value)...)
		}
	}
	b := bars{Program: lines["ExecStart"], Outside: outside, Writable: lines["ReadWritePaths"]}
	if lines["ProtectSystem"][0] != "strict" || lines["NoNewPrivileges"][0] != "yes" {
		t.Fatal("this test knows ProtectSystem=strict and NoNewPrivileges=yes")
	}
	if lines["ProtectHome"][0] == "yes" {
		b.Hidden = append(b.Hidden, "/home", "/root", "/run/user")
	}
	if lines["PrivateTmp"][0] == "yes" {
		b.Hidden = append(b.Hidden, "/tmp", "/var/tmp")
	}
	for _, name := range lines["CapabilityBoundingSet"] {
		b.Caps = append(b.Caps, map[string]int{"CAP_NET_BIND_SERVICE": unix.CAP_NET_BIND_SERVICE}[name])
	}
	for _, name := range lines["RestrictAddressFamilies"] {
		n, ok := map[string]uint32{"AF_INET": unix.AF_INET, "AF_INET6": unix.AF_INET6, "AF_UNIX": unix.AF_UNIX, "AF_NETLINK": unix.AF_NETLINK}[name]
		if !ok {
			t.Fatalf("this test does not know %s", name)
		}
		b.Families = append(b.Families, n)
	}
	b.Calls = allowedCalls(t, lines["SystemCallFilter"])
	return b
}

// allowedCalls looks the groups of calls up with systemd-analyze, and their numbers in
// the package that makes them.
func allowedCalls(t *testing.T, filter []string) (numbers []uint32) {
	t.Helper()
	if _, err := exec.LookPath("systemd-analyze"); err != nil {
		t.Log("no systemd-analyze on this machine: the system calls are not filtered")
		return nil
	}
	allowed, isTaken := map[string]bool{}, false
	for _, word := range append([]string{"@default"}, filter...) {
		if rest, ok := strings.CutPrefix(word, "~"); ok {
			isTaken, word = true, rest // it holds for the rest of the line, which is the last
		}
		for _, name := range callsOf(t, word) {
			allowed[name] = !isTaken
		}
	}
	dir, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "golang.org/x/sys").Output()
	if err != nil {
		t.Fatal(err)
	}
	table, err := filepath.Glob(filepath.Join(strings.TrimSpace(string(dir)), "unix", "zsysnum_linux_"+buildArch+".go"))
	if err != nil || len(table) != 1 {
		t.Fatalf("numbers of the system calls: %v, %v", table, err)
	}
	b, err := os.ReadFile(table[0])
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range regexp.MustCompile(`SYS_(\w+)\s+= (\d+)`).FindAllStringSubmatch(string(b), -1) {
		if n, err := strconv.Atoi(m[2]); err == nil && allowed[strings.ToLower(m[1])] {
			numbers = append(numbers, uint32(n))
		}
	}
	return numbers
}

func callsOf(t *testing.T, word string) (names []string) {
	t.Helper()
	if !strings.HasPrefix(word, "@") {
		return []string{word}
	}
	out, err := exec.Command("systemd-analyze", "syscall-filter", word).Output()
	if err != nil {
		t.Fatalf("systemd-analyze syscall-filter %s: %v", word, err)
	}
	for line := range strings.Lines(string(out)) {
		line = strings.TrimSpace(line)
		if line != "" && line != word && line[0] != '#' {
			names = append(names, callsOf(t, line)...)
		}
	}
	return names
}
