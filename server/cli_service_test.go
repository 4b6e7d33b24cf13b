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
	const program = "/usr/bin/true" // any that every user may run
	a := hoppertally(t, "", "service", "--install", "--dir", dir, "--binary", program, "--user", "daemon")
	path := filepath.Join(dir, "hoppertally.service")
	if a.code != exitOK || !strings.Contains(a.out, path) {
		t.Fatalf("exit %d: %s %s", a.code, a.out, a.err)
	}
	unit, err := os.ReadFile(path)
	if err != nil || !strings.Contains(string(unit), "ExecStart="+program) {
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

func TestAServiceThatCouldNotStartIsNotInstalled(t *testing.T) {
	home := t.TempDir() // under /tmp, which the unit hides as it hides /home
	passphrase := filepath.Join(home, "passphrase")
	if err := os.WriteFile(passphrase, []byte("secret"), 0o600); err != nil {
		t.Fatal(err)
	}
	own := filepath.Join(home, "hoppertally")
	if err := os.WriteFile(own, nil, 0o755); err != nil {
		t.Fatal(err)
	}
	for name, tt := range map[string]struct {
		args []string
		says []string
	}{
		"a user who is not there":             {[]string{"--user", "nobody-of-that-name"}, []string{"There is no user nobody-of-that-name", "useradd --system"}},
		"a program that is not there":         {[]string{"--binary", "/usr/bin/no-such-program"}, []string{"is not there", "install -m 0755"}},
		"a program in a hidden folder":        {[]string{"--binary", own}, []string{"does not see " + own, "install -m 0755"}},
		"a data folder that is not there":     {[]string{"--data", "/srv/no-such-folder"}, []string{"/srv/no-such-folder is not there", "install -d -o daemon"}},
		"a data folder of another's":          {[]string{"--data", "/usr/bin"}, []string{"cannot write in the folder /usr/bin"}},
		"a hidden data folder":                {[]string{"--data", home}, []string{"does not see " + home}},
		"a backup folder that is not there":   {[]string{"--", "--backup-dir", "/mnt/no-such-disk"}, []string{"/mnt/no-such-disk is not there", "install -d -o daemon"}},
		"a backup folder in a hidden one":     {[]string{"--", "--backup-dir=" + home}, []string{"does not see " + home}},
		"a passphrase that nobody else reads": {[]string{"--", "--backup-dir", "/usr/bin", "--backup-passphrase-file", passphrase}, []string{"does not see " + passphrase, "cannot write in the folder /usr/bin"}},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			a := hoppertally(t, "", append([]string{"service", "--install", "--dir", dir, "--binary", "/usr/bin/true", "--user", "daemon"}, tt.args...)...)
			for _, want := range append(tt.says, "nothing was written") {
				if a.code != exitFailed || !strings.Contains(a.err, want) {
					t.Errorf("exit %d, and it does not say %q: %s", a.code, want, a.err)
				}
			}
			if made, err := os.ReadDir(dir); err != nil || len(made) > 0 {
				t.Errorf("written: %v, %v", made, err)
			}
		})
	}
	for name, args := range map[string][]string{
		"a flag that serve does not have":  {"--", "--adr", ":443"},
		"a value that serve does not take": {"--", "--https", "lokal"},
		"flags that do not go together":    {"--", "--domain", "shop.example.com"},
		"a path that is not whole":         {"--", "--backup-dir", "backups"},
		"the data folder at the wrong end": {"--", "--data", "/srv/shop"},
		"help instead of a service":        {"--", "--help"},
	} {
		if a := hoppertally(t, "", append([]string{"service"}, args...)...); a.code != exitUsage || a.out != "" || a.err == "" {
			t.Errorf("%s: exit %d, %s", name, a.code, a.err)
		}
	}
}

func TestTheUnitLetsBackupsBeWritten(t *testing.T) {
	a := hoppertally(t, "", "service", "--data", "/srv/shop", "--", "--backup-dir", "/mnt/100% safe", "--https", "local")
	for _, want := range []string{"\nReadWritePaths=/srv/shop \"-/mnt/100%% safe\"\n", " AF_NETLINK\n"} {
		if a.code != exitOK || !strings.Contains(a.out, want) {
			t.Errorf("the unit lacks %q:\n%s%s", want, a.out, a.err)
		}
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
