package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"

	"hoppertally/domain/shop"
)

const compareRounds = 3 // of hoppertally; ledger takes its time

// compare runs hoppertally replay and ledger as whole processes on the same
// transfers, checks that they find the same, and prints time and memory.
func compare(hoppertally string, moves int64) error {
	if _, err := exec.LookPath("ledger"); err != nil {
		fmt.Println("replay beside ledger: not measured, the program ledger is not installed (Debian: apt-get install ledger)")
		return nil
	}
	dir, err := os.MkdirTemp("", "bench")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	for _, plain := range []bool{true, false} {
		if err := compareOn(dir, plain, moves, hoppertally); err != nil {
			return err
		}
	}
	return nil
}

func compareOn(dir string, plain bool, moves int64, hoppertally string) error {
	entries, postings := filepath.Join(dir, "entries"), filepath.Join(dir, "ledger")
	if err := writeFiles(1, moves, plain, entries, postings); err != nil {
		return err
	}
	var ours []spent
	var report []byte
	for range compareRounds {
		s, out, err := measured(hoppertally, "replay", entries)
		if err != nil {
			return err
		}
		ours, report = append(ours, s), out
	}
	theirs, balance, err := measured("ledger", "-f", postings, "balance", "--flat", "--no-total", "--no-pager", "--balance-format", "%(display_total)|%(account)\n")
	if err != nil {
		return err
	}
	if err := agree(report, balance); err != nil {
		return err
	}
	slices.SortFunc(ours, func(a, b spent) int { return int(a.wall - b.wall) })
	s := ours[len(ours)/2]
	name := map[bool]string{true: "every transfer of one lot", false: "mixing, reclaim, runs"}[plain]
	fmt.Printf("replay of %d transfers, %s: hoppertally %.2f s (processor %.2f s), %.0f MB; ledger %.2f s (processor %.2f s), %.0f MB; "+
		"%.1f times as fast (at least 5), %.3f of its memory (at most 0.1); every balance agrees\n",
		moves, name, s.wall.Seconds(), s.cpu.Seconds(), s.mb, theirs.wall.Seconds(), theirs.cpu.Seconds(), theirs.mb, theirs.wall.Seconds()/s.wall.Seconds(), s.mb/theirs.mb)
	return nil
}

// spent is what a process took.
type spent struct {
	wall, cpu time.Duration
	mb        float64 // most memory at a time, 1e6 bytes
}

func measured(name string, args ...string) (spent, []byte, error) {
	c := exec.Command(name, args...)
	var out bytes.Buffer
	c.Stdout, c.Stderr = &out, os.Stderr
	start := time.Now()
	err := c.Run()
	s := spent{wall: time.Since(start)}
	if err != nil {
		return s, nil, fmt.Errorf("%s: %w", name, err)
	}
	s.cpu = c.ProcessState.UserTime() + c.ProcessState.SystemTime()
	u, ok := c.ProcessState.SysUsage().(*syscall.Rusage)
	if !ok {
		return s, nil, errors.New("this system does not tell the memory of a process")
	}
	s.mb = float64(u.Maxrss) * 1024 / 1e6 // Linux counts in KiB
	return s, out.Bytes(), nil
}

// agree tells where the balances of ledger differ from the report: part by part
// in places, the sums of what was received and sprayed.
func agree(report, balance []byte) error {
	var r shop.Report
	if err := json.Unmarshal(report, &r); err != nil {
		return err
	}
	want := map[string]int64{}
	for _, p := range r.Places {
		for _, c := range p.Content {
			want[fmt.Sprintf("%s %s/%d", p.Place, c.Lot, c.Passes)] = int64(c.Mass)
		}
	}
	for _, a := range r.Accounts {
		if a.Account == "received" {
			want["received"] = int64(a.Mass)
		}
	}
	for _, run := range r.Runs {
		if run.Net > 0 {
			want["sprayed"] += int64(run.Net)
		}
	}
	got, err := balances(balance)
	if err != nil {
		return err
	}
	if len(got) < 50 {
		return fmt.Errorf("ledger has %d balances only", len(got))
	}
	for _, k := range slices.Sorted(maps.Keys(want)) {
		if got[k] != want[k] {
			return fmt.Errorf("%s: ledger has %d, hoppertally %d", k, got[k], want[k])
		}
	}
	for _, k := range slices.Sorted(maps.Keys(got)) {
		if want[k] == 0 {
			return fmt.Errorf("%s: ledger has %d, hoppertally nothing", k, got[k])
		}
	}
	return nil
}

// balances reads what ledger printed: amounts one a line, the last followed by
// a bar and the account.
func balances(out []byte) (map[string]int64, error) {
	got := map[string]int64{}
	var amounts []string
	for lines := bufio.NewScanner(bytes.NewReader(out)); lines.Scan(); {
		amount, account, last := strings.Cut(lines.Text(), "|")
		amounts = append(amounts, strings.TrimSpace(amount))
		if !last {
			continue
		}
		for _, a := range amounts {
			n, part, ok := strings.Cut(a, " ")
			mg, err := strconv.ParseInt(n, 10, 64)
			if err != nil || !ok {
				return nil, fmt.Errorf("ledger printed %q", a)
			}
			switch account {
			case gun: // one lot out of one number of passes and into the next
			case received, sprays:
				got[account] += mg
			default:
				got[account+" "+strings.Trim(part, `"`)] += mg
			}
		}
		amounts = amounts[:0]
	}
	return got, nil
}
