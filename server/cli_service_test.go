package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

func TestTheServiceRunsAsNobodyInParticularAndMayDoLittle(t *testing.T) {
	a := hoppertally(t, "", "service", "--binary", "/usr/local/bin/hoppertally", "--", "--addr", ":443", "--https", "local")
	if a.code != exitOK || a.err != "" {
		t.Fatalf("exit %d: %s", a.code, a.err)
	}
	for _, want := range []string{"\nExecStart=/usr/local/bin/hoppertally serve --data /var/lib/hoppertally --addr :443 --https local\n", "\nUser=hoppertally\n", "\nStateDirectory=hoppertally\n",
		"\nStateDirectoryMode=0700\n", "\nProtectSystem=strict\n", "\nNoNewPrivileges=yes\n", "\nUMask=0077\n", "\nMemoryDenyWriteExecute=yes\n"} {
		if !strings.Contains(a.out, want) {
			t.Errorf("the unit lacks %q:\n%s", want, a.out)
		}
	}
	if strings.Contains(a.out, "ReadWritePaths") {
		t.Error("systemd makes the folder in /var/lib; no other may be written")
	}
	b := hoppertally(t, "", "service", "--binary", "/opt/100% \"powder\"/hoppertally", "--data", "/srv/shop data", "--user", "shop")
	for _, want := range []string{`ExecStart="/opt/100%% \"powder\"/hoppertally" serve --data "/srv/shop data"` + "\n", "\nReadWritePaths=\"/srv/shop data\"\n", "\nUser=shop\n"} {
		if !strings.Contains(b.out, want) {
			t.Errorf("the unit lacks %q:\n%s", want, b.out)
		}
	}
	for name, args := range map[string][]string{"root": {"service", "--user", "root"}, "root by number": {"service", "--user", "0"}, "a line break": {"service", "--", "--addr", "x\nUser=root"}} {
		if a := hoppertally(t, "", args...); a.code != exitUsage || a.out != "" {
			t.Errorf("%s: exit %d, %s", name, a.code, a.out)
		}
	}
}

func TestTheServiceIsInstalledAndSystemdTakesIt(t *testing.T) {
	dir := t.TempDir()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	a := hoppertally(t, "", "service", "--install", "--dir", dir, "--binary", self, "--user", "daemon")
	path := filepath.Join(dir, "hoppertally.service")
	if a.code != exitOK || !strings.Contains(a.out, path) {
		t.Fatalf("exit %d: %s %s", a.code, a.out, a.err)
	}
	unit, err := os.ReadFile(path)
	if err != nil || !strings.Contains(string(unit), "ExecStart="+self) {
		t.Fatalf("%s, %v", unit, err)
	}
	analyze, err := exec.LookPath("systemd-analyze")
	if err != nil {
		t.Logf("no systemd-analyze on this machine: the unit was written, not verified")
		return
	}
	out, err := exec.Command(analyze, "verify", path).CombinedOutput()
	for line := range strings.Lines(string(out)) {
		if strings.Contains(line, "hoppertally.service") && !strings.Contains(line, "No such file or directory") {
			t.Errorf("systemd-analyze verify: %s", line)
		}
	}
	t.Logf("systemd-analyze verify: %v", err)
	if out, err := exec.Command(analyze, "security", "--offline=true", "--threshold=25", path).CombinedOutput(); err != nil {
		t.Errorf("systemd-analyze security finds the unit too open: %v\n%s", err, out)
	}
}

func TestADataFolderThatOthersCanReadIsShut(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "shop")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	p := launch(t, build(t), "serve", "--addr", "127.0.0.1:0", "--data", dir)
	info, err := os.Stat(dir)
	if err != nil || info.Mode().Perm() != 0o700 {
		t.Errorf("the folder has mode %v, %v", info.Mode().Perm(), err)
	}
	p.kill(t)
	said := p.err.String()
	if !strings.Contains(said, "others on this machine could look") || (os.Geteuid() == 0) != strings.Contains(said, "running as root") {
		t.Errorf("the log: %s", said)
	}
}
