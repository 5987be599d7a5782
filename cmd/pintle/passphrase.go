package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"unicode/utf8"

	"golang.org/x/term"
)

// leastPassphrase is how long a new passphrase is at least, in characters.
const leastPassphrase = 8

// ask has the passphrase from the file that was named, else from the terminal, without
// showing it; a new one twice.
func (o keyOptions) ask(a *app, what string, anew bool) (string, error) {
	phrase, err := o.phrase(a, what, anew)
	if err != nil {
		return "", usage(err)
	}
	if anew && utf8.RuneCountInString(phrase) < leastPassphrase {
		return "", usage(fmt.Errorf("a new passphrase has at least %d characters", leastPassphrase))
	}
	return phrase, nil
}

func (o keyOptions) phrase(a *app, what string, twice bool) (string, error) {
	if o.passphrase != "" {
		return readPassphrase(o.passphrase)
	}
	stdin := int(os.Stdin.Fd())
	if !term.IsTerminal(stdin) {
		return "", errors.New("there is no terminal to ask for the passphrase on: name a file that holds it with --passphrase-file")
	}
	phrase, err := a.typed(stdin, what)
	if err != nil || !twice {
		return phrase, err
	}
	again, err := a.typed(stdin, "once more")
	if err == nil && again != phrase {
		err = errors.New("the two passphrases differ; nothing was made")
	}
	return phrase, err
}

func (a *app) typed(terminal int, what string) (string, error) {
	fmt.Fprintf(a.err, "%s: ", what)
	text, err := term.ReadPassword(terminal)
	fmt.Fprintln(a.err)
	if err != nil {
		return "", fmt.Errorf("read the passphrase: %w", err)
	}
	return string(text), nil
}

// readPassphrase takes the first line of a file that others cannot read.
func readPassphrase(file string) (string, error) {
	f, err := os.Open(file)
	if err != nil {
		return "", fmt.Errorf("read the passphrase: %w", err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return "", fmt.Errorf("read the passphrase: %w", err)
	}
	if mode := info.Mode().Perm(); mode&0o077 != 0 {
		return "", fmt.Errorf("others can read the passphrase in %s (its mode is %04o): chmod 600 %s", file, mode, file)
	}
	text, err := io.ReadAll(io.LimitReader(f, 4096))
	if err != nil {
		return "", fmt.Errorf("read the passphrase in %s: %w", file, err)
	}
	line, _, _ := strings.Cut(string(text), "\n")
	if line = strings.TrimSuffix(line, "\r"); line == "" {
		return "", fmt.Errorf("the first line of %s is empty: it is to be the passphrase", file)
	}
	return line, nil
}
