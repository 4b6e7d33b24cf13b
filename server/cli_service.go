package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"text/template"
)

type serviceCmd struct {
	User    string   `default:"hoppertally" help:"The user the server runs as; it must exist and must not be root."`
	Binary  string   `type:"path" help:"The program; this one if not given."`
	Data    string   `default:"/var/lib/hoppertally" type:"path" help:"Folder that holds the shop's data. systemd makes it when it lies in /var/lib."`
	Install bool     `help:"Write the unit to /etc/systemd/system and have systemd read it, instead of printing it."`
	Dir     string   `default:"/etc/systemd/system" type:"path" hidden:""`
	Args    []string `arg:"" optional:"" passthrough:"" help:"What to add to serve, such as --addr :443 --https local."`
}

const unitName = "hoppertally.service"

// Run prints or installs a systemd unit that lets the server do its work and nothing
// else (systemd.exec(5)).
func (c serviceCmd) Run(s *streams) error {
	unit, err := c.unit()
	if err != nil {
		return err
	}
	if !c.Install {
		_, err := fmt.Fprint(s.out, unit)
		return err
	}
	path := filepath.Join(c.Dir, unitName)
	if err := os.WriteFile(path, []byte(unit), 0o644); err != nil {
		return fmt.Errorf("write the unit: %w", err)
	}
	fmt.Fprintf(s.out, "wrote %s\n", path)
	if systemctl, err := exec.LookPath("systemctl"); err == nil {
		if out, err := exec.Command(systemctl, "daemon-reload").CombinedOutput(); err != nil {
			fmt.Fprintf(s.err, "systemd did not read it: %s\n", strings.TrimSpace(string(out)))
		}
	}
	fmt.Fprintf(s.out, "Make the user once:  useradd --system --home-dir %s --shell /usr/sbin/nologin %s\nThen start it:       systemctl enable --now %s\nIts log:             journalctl -u %s\n", c.Data, c.User, unitName, unitName)
	return nil
}

func (c serviceCmd) unit() (string, error) {
	if c.User == "root" || c.User == "0" || c.User == "" {
		return "", &exit{exitUsage, errors.New("the server must not run as root: name another user with --user")}
	}
	if c.Binary == "" {
		self, err := os.Executable()
		if err != nil {
			return "", fmt.Errorf("find this program: %w", err)
		}
		c.Binary = self
	}
	words := []string{c.Binary, "serve", "--data", c.Data}
	if len(c.Args) > 0 && c.Args[0] == "--" {
		c.Args = c.Args[1:]
	}
	for i, w := range append(words, c.Args...) {
		if strings.ContainsAny(w, "\n\r\x00") || strings.ContainsAny(c.User, " \n\r\x00%") {
			return "", &exit{exitUsage, fmt.Errorf("%q cannot stand in a unit", w)}
		}
		if i < len(words) {
			words[i] = quoted(w)
		} else {
			words = append(words, quoted(w))
		}
	}
	state, isState := strings.CutPrefix(c.Data, "/var/lib/")
	var out strings.Builder
	err := unitText.Execute(&out, map[string]any{"User": c.User, "Exec": strings.Join(words, " "), "Data": quoted(c.Data), "State": state, "IsState": isState && !strings.Contains(state, " ")})
	return out.String(), err
}

// quoted is a word as it stands in a unit: % and $ begin what systemd fills in.
func quoted(w string) string {
	w = strings.NewReplacer(`\`, `\\`, `"`, `\"`, "%", "%%", "$", "$$").Replace(w)
	if strings.ContainsAny(w, " \t'\";") {
		return `"` + w + `"`
	}
	return w
}

var unitText = template.Must(template.New("unit").Parse(`[Unit]
Description=hoppertally, the books of a powder coating shop
After=network-online.target
Wants=network-online.target

[Service]
ExecStart={{.Exec}}
User={{.User}}
Group={{.User}}
{{if .IsState}}StateDirectory={{.State}}
StateDirectoryMode=0700
{{else}}ReadWritePaths={{.Data}}
{{end}}UMask=0077
Restart=on-failure
RestartSec=2
TimeoutStopSec=20
LimitNOFILE=16384
MemoryMax=2G

# It may open the ports 80 and 443 and nothing else that needs a privilege.
AmbientCapabilities=CAP_NET_BIND_SERVICE
CapabilityBoundingSet=CAP_NET_BIND_SERVICE
NoNewPrivileges=yes
ProtectSystem=strict
ProtectHome=yes
PrivateTmp=yes
PrivateDevices=yes
ProtectKernelTunables=yes
ProtectKernelModules=yes
ProtectKernelLogs=yes
ProtectControlGroups=yes
ProtectClock=yes
ProtectHostname=yes
ProtectProc=invisible
ProcSubset=pid
RestrictAddressFamilies=AF_INET AF_INET6 AF_UNIX
RestrictNamespaces=yes
RestrictRealtime=yes
RestrictSUIDSGID=yes
LockPersonality=yes
MemoryDenyWriteExecute=yes
RemoveIPC=yes
SystemCallArchitectures=native
SystemCallFilter=@system-service
SystemCallFilter=~@privileged @resources
SystemCallErrorNumber=EPERM

[Install]
WantedBy=multi-user.target
`))
