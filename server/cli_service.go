package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"text/template"

	"github.com/alecthomas/kong"
)

type serviceCmd struct {
	User    string   `default:"hoppertally" help:"The user the server runs as; it must exist and must not be root."`
	Binary  string   `type:"path" help:"The program; this one if not given."`
	Data    string   `default:"/var/lib/hoppertally" type:"path" help:"Folder that holds the shop's data. systemd makes it when it lies in /var/lib."`
	Install bool     `help:"Look whether the service could start, write the unit to /etc/systemd/system and have systemd read it, instead of printing it."`
	Dir     string   `default:"/etc/systemd/system" type:"path" hidden:""`
	Args    []string `arg:"" optional:"" passthrough:"" help:"What to add to serve, such as --addr :443 --https local."`
}

const unitName = "hoppertally.service"

// Run prints or installs a systemd unit that lets the server do its work and nothing
// else (systemd.exec(5)). It installs none that could not start.
func (c serviceCmd) Run(s *streams) error {
	serve, err := c.complete()
	if err != nil {
		return err
	}
	unit, err := c.unit(serve)
	if err != nil {
		return err
	}
	if !c.Install {
		_, err := fmt.Fprint(s.out, unit)
		return err
	}
	if faults := c.faults(serve); len(faults) > 0 {
		return fmt.Errorf("nothing was written, because the service could not start:\n- %s", strings.Join(faults, "\n- "))
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
	fmt.Fprintf(s.out, "Start it:  systemctl enable --now %s\nIts log:   journalctl -u %s\n", unitName, unitName)
	return nil
}

// complete fills in what was not given and reads the arguments as serve will.
func (c *serviceCmd) complete() (serve serveCmd, err error) {
	if c.User == "root" || c.User == "0" || c.User == "" {
		return serve, &exit{exitUsage, errors.New("the server must not run as root: name another user with --user")}
	}
	if c.Binary == "" {
		if c.Binary, err = os.Executable(); err != nil {
			return serve, fmt.Errorf("find this program: %w", err)
		}
	}
	if len(c.Args) > 0 && c.Args[0] == "--" {
		c.Args = c.Args[1:]
	}
	for _, w := range append(c.Args, c.Binary, c.Data, c.User) {
		if strings.ContainsAny(w, "\n\r\x00") {
			return serve, &exit{exitUsage, fmt.Errorf("%q cannot stand in a unit", w)}
		}
	}
	if strings.ContainsAny(c.User, " %") {
		return serve, &exit{exitUsage, fmt.Errorf("%q cannot stand in a unit", c.User)}
	}
	if serve, err = readServe(c.Args); err != nil {
		return serve, &exit{exitUsage, fmt.Errorf("serve would not take these arguments: %w", err)}
	}
	for _, path := range serve.paths() {
		if !slices.ContainsFunc(c.Args, func(a string) bool { return a == path || strings.HasSuffix(a, "="+path) }) {
			return serve, &exit{exitUsage, fmt.Errorf("a service has no folder to start from: write %s in full", path)}
		}
	}
	return serve, nil
}

// readServe reads arguments as the command serve does.
func readServe(args []string) (serveCmd, error) {
	var c struct {
		Serve serveCmd `cmd:""`
	}
	parser, err := kong.New(&c, kong.NoDefaultHelp())
	if err != nil {
		return c.Serve, err
	}
	if slices.ContainsFunc(args, func(a string) bool { return a == "--data" || strings.HasPrefix(a, "--data=") }) {
		return c.Serve, errors.New("--data stands before the arguments: hoppertally service --data FOLDER -- …")
	}
	if _, err := parser.Parse(append([]string{"serve"}, args...)); err != nil {
		return c.Serve, err
	}
	return c.Serve, c.Serve.check(c.Serve.Proxied)
}

// paths are those that serve was given, besides the data folder.
func (c serveCmd) paths() []string {
	return slices.DeleteFunc([]string{c.Backup.Dir, c.Backup.PassphraseFile, c.ACMETrust}, func(p string) bool { return p == "" })
}

func (c serviceCmd) unit(serve serveCmd) (string, error) {
	words := append([]string{c.Binary, "serve", "--data", c.Data}, c.Args...)
	for i, w := range words {
		words[i] = quoted(strings.ReplaceAll(w, "$", "$$"))
	}
	writable := []string{}
	state, isState := c.state()
	if !isState {
		writable = append(writable, quoted(c.Data))
	}
	if serve.Backup.Dir != "" {
		writable = append(writable, quoted("-"+serve.Backup.Dir)) // a disk that is not there must not stop the shop
	}
	var out strings.Builder
	err := unitText.Execute(&out, map[string]any{"User": c.User, "Exec": strings.Join(words, " "), "State": state, "IsState": isState, "Writable": strings.Join(writable, " ")})
	return out.String(), err
}

// state is the data folder's place in /var/lib, where systemd makes it.
func (c serviceCmd) state() (place string, isState bool) {
	place, isState = strings.CutPrefix(c.Data, "/var/lib/")
	return place, isState && !strings.ContainsAny(place, " %")
}

// quoted is a word as it stands in a unit: % begins what systemd fills in.
func quoted(w string) string {
	w = strings.NewReplacer(`\`, `\\`, `"`, `\"`, "%", "%%").Replace(w)
	if strings.ContainsAny(w, " \t'\";") {
		return `"` + w + `"`
	}
	return w
}

var unitText = template.Must(template.New("unit").Parse(`[Unit]
Description=hoppertally, the books of a powder coating shop
After=network-online.target
Wants=network-online.target
# It is started again for ever: a disk that is full today has room tomorrow.
StartLimitIntervalSec=0

[Service]
ExecStart={{.Exec}}
User={{.User}}
{{if .IsState}}StateDirectory={{.State}}
StateDirectoryMode=0700
{{end}}{{if .Writable}}ReadWritePaths={{.Writable}}
{{end}}UMask=0077
Restart=on-failure
RestartSec=5
RestartPreventExitStatus=2
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
# AF_NETLINK tells the machine's addresses, which its certificate names.
RestrictAddressFamilies=AF_INET AF_INET6 AF_UNIX AF_NETLINK
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
