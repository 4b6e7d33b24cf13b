package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/user"
	"path/filepath"
	"strings"
)

// hidden are the folders that the unit hides from the server, ProtectHome and
// PrivateTmp (systemd.exec(5)).
var hidden = []string{"/home", "/root", "/run/user", "/tmp", "/var/tmp"}

// within tells whether a path lies in a folder, or is that folder.
func within(path, folder string) bool {
	return path == folder || strings.HasPrefix(path, strings.TrimSuffix(folder, "/")+"/")
}

func isHidden(path string) bool {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real
	}
	for _, h := range hidden {
		if within(path, h) {
			return true
		}
	}
	return false
}

// faults tells what would keep the service from starting on this machine, and what to
// do about each.
func (c serviceCmd) faults(serve serveCmd) (faults []string) {
	add := func(format string, a ...any) { faults = append(faults, fmt.Sprintf(format, a...)) }
	who, err := user.Lookup(c.User)
	switch {
	case err != nil:
		add("There is no user %s. Make it first:\n    useradd --system --home-dir %s --no-create-home --shell /usr/sbin/nologin %s", c.User, c.Data, c.User)
	case who.Uid == "0":
		add("The user %s is root under another name. Name another one with --user.", c.User)
	}
	if f := c.binaryFault(who); f != "" {
		add("%s Put a copy where every user may run it, and install from there:\n    install -m 0755 %s /usr/local/bin/hoppertally\n    /usr/local/bin/hoppertally service --install …", f, c.Binary)
	}
	if _, isState := c.state(); isHidden(c.Data) || !isState {
		if f := folderFault(c.Data, who); f != "" {
			add("%s", f)
		}
	}
	if dir := serve.Backup.Dir; dir != "" && !within(dir, c.Data) {
		if f := folderFault(dir, who); f != "" {
			add("%s", f)
		}
	}
	for _, file := range []string{serve.Backup.PassphraseFile, serve.ACMETrust} {
		if file == "" || within(file, c.Data) {
			continue
		}
		if isHidden(file) {
			add("The service does not see %s: /home, /root and /tmp are hidden from it. Put the file elsewhere, for instance into /etc/hoppertally.", file)
		} else if err := mayAll(who, file, 4); err != nil {
			add("The user %s cannot read %s (%v):\n    chown %s %s && chmod 0400 %s", c.User, file, err, c.User, file, file)
		}
	}
	return faults
}

// binaryFault is empty for a program that the service can run.
func (c serviceCmd) binaryFault(who *user.User) string {
	info, err := os.Stat(c.Binary)
	switch {
	case err != nil:
		return fmt.Sprintf("The program is not there: %v.", err)
	case !info.Mode().IsRegular():
		return fmt.Sprintf("%s is no program.", c.Binary)
	case isHidden(c.Binary):
		return fmt.Sprintf("The service does not see %s: /home, /root and /tmp are hidden from it.", c.Binary)
	}
	if err := mayAll(who, c.Binary, 1); err != nil {
		return fmt.Sprintf("The user %s cannot run %s (%v).", c.User, c.Binary, err)
	}
	return ""
}

// folderFault is empty for a folder in which the service can write.
func folderFault(dir string, who *user.User) string {
	name := "hoppertally"
	if who != nil {
		name = who.Username
	}
	if isHidden(dir) {
		return fmt.Sprintf("The service does not see %s: /home, /root and /tmp are hidden from it. Take a folder elsewhere, for instance in /var/lib or /srv.", dir)
	}
	info, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Sprintf("The folder %s is not there. Make it for the user:\n    install -d -o %s -m 0700 %s", dir, name, dir)
	case err != nil:
		return fmt.Sprintf("The folder %s: %v.", dir, err)
	case !info.IsDir():
		return fmt.Sprintf("%s is no folder.", dir)
	}
	if err := mayAll(who, dir, 3); err != nil {
		return fmt.Sprintf("The user %s cannot write in the folder %s (%v):\n    chown %s %s", name, dir, err, name, dir)
	}
	return ""
}

// mayAll tells whether a user may reach a file through its folders and then use it as
// the bits ask: 4 to read, 2 to write, 1 to run or enter.
func mayAll(who *user.User, path string, bits fs.FileMode) error {
	if who == nil {
		return nil // said already
	}
	for folder := filepath.Dir(path); ; folder = filepath.Dir(folder) {
		if err := may(who, folder, 1); err != nil {
			return err
		}
		if folder == filepath.Dir(folder) {
			return may(who, path, bits)
		}
	}
}
