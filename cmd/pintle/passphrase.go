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

// mostColumns is wider than any question is long.
const mostColumns = 1 << 13

// ask has the passphrase from the file that was named, else from the terminal, without
// showing it; a new one twice.
func (o keyOptions) ask(a *app, what string, anew bool) (string, error) {
	phrase, err := o.phrase(a, what, anew)
	if err != nil {
		return "", usage(err)
	}
	if anew {
		if err := longEnough(phrase); err != nil {
			return "", usage(err)
		}
	}
	return phrase, nil
}

func longEnough(phrase string) error {
	if n := utf8.RuneCountInString(phrase); n < leastPassphrase {
		return fmt.Errorf("a new passphrase has at least %d characters, and this one has %d: nothing was made; think of a longer one", leastPassphrase, n)
	}
	return nil
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
	if err := longEnough(phrase); err != nil {
		return "", err // before it is typed once more
	}
	again, err := a.typed(stdin, "once more")
	if err == nil && again != phrase {
		err = errors.New("the two passphrases differ: nothing was made; type the same one twice")
	}
	return phrase, err
}

// typed asks on the terminal. What is typed is not shown, not even what is typed before
// the question has come.
func (a *app) typed(terminal int, what string) (string, error) {
	before, err := term.MakeRaw(terminal)
	if err != nil {
		return "", fmt.Errorf("ask for the passphrase: %w", err)
	}
	t := term.NewTerminal(struct {
		io.Reader
		io.Writer
	}{os.Stdin, a.err}, "")
	if err := t.SetSize(mostColumns, 1); err != nil { // the terminal breaks long lines itself
		return "", errors.Join(err, term.Restore(terminal, before))
	}
	text, err := t.ReadPassword(what + ": ")
	if err := errors.Join(err, term.Restore(terminal, before)); err != nil {
		return "", fmt.Errorf("read the passphrase: %w", err)
	}
	return text, nil
}

// readPassphrase takes the first line of a file that others cannot read.
func readPassphrase(file string) (string, error) {
	f, err := os.Open(file)
	if err != nil {
		return "", fmt.Errorf("read the passphrase: %w; --passphrase-file names a file that you may read, with the passphrase in its first line", err)
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
