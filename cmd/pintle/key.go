package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"pintle/reports/seal"
	"pintle/rig/atomicfile"
)

// keyOptions say where the private key is and how its passphrase is had.
type keyOptions struct {
	file       string
	passphrase string // a file that holds it
}

// keyDeeds are what pintle key does.
var keyDeeds = []string{"new", "show", "export"}

func keyCommand(a *app) *cobra.Command {
	var o keyOptions
	c := &cobra.Command{
		Use:   "key new|show|export [FILE]",
		Short: "the key that records are signed with",
		Long: `Makes and shows the key that pintle certify signs records with. It is an Ed25519 key in
the format of minisign, whose ordinary tool checks the signatures.

  new           makes a key; one that is there is never overwritten
  show          its number, its public key, and where it is kept
  export FILE   writes the public key to a file, for whoever checks records

The private key is enciphered under a passphrase of at least ` + fmt.Sprint(leastPassphrase) + ` characters. Whoever has both can
sign in your name; who loses either cannot sign any more, but everything that was signed
can still be checked. The public key is no secret: hand it over by another way than the
records, so that nobody can exchange both.`,
		Args:      cobra.RangeArgs(1, 2),
		ValidArgs: keyDeeds,
		RunE: func(_ *cobra.Command, args []string) error {
			if (args[0] == "export") != (len(args) == 2) {
				return usage(errors.New("a file is named for export and for nothing else, such as pintle key export bench.pub"))
			}
			switch args[0] {
			case "new":
				return a.newKey(o)
			case "show":
				return a.showKey(o)
			case "export":
				return a.exportKey(o, args[1])
			}
			return usage(fmt.Errorf("pintle key %s: there is no such call%s", args[0], suggestion(args[0], keyDeeds)))
		},
	}
	o.flags(c, "key")
	return c
}

// flags adds the flags that name the private key.
func (o *keyOptions) flags(c *cobra.Command, name string) {
	c.Flags().StringVar(&o.file, name, "", "the private key's `FILE` (default: pintle/pintle.key in your configuration folder)")
	c.Flags().StringVar(&o.passphrase, "passphrase-file", "", "take the passphrase from the first line of `FILE`, where there is no terminal")
}

// private is the file of the private key.
func (o keyOptions) private() (string, error) {
	if o.file != "" {
		return o.file, nil
	}
	dir, err := os.UserConfigDir()
	if err != nil {
		return "", usage(fmt.Errorf("find your configuration folder: %w; name the key with --key", err))
	}
	return filepath.Join(dir, "pintle", "pintle.key"), nil
}

// publicFile is where the public key of a private one is kept: beside it.
func publicFile(private string) string { return strings.TrimSuffix(private, ".key") + ".pub" }

// load takes the private key up. An error that wraps fs.ErrNotExist says that there is none.
func (o keyOptions) load(a *app) (*seal.Key, error) {
	file, err := o.private()
	if err != nil {
		return nil, err
	}
	if err := seal.CheckPrivate(file); err != nil {
		return nil, usage(err)
	}
	phrase, err := o.ask(a, "passphrase of "+file, false)
	if err != nil {
		return nil, err
	}
	k, err := seal.Load(file, phrase)
	if err != nil {
		return nil, usage(err)
	}
	return k, nil
}

// public is the public key of the key: from the file beside it, else out of the private one.
func (o keyOptions) public(a *app) (seal.Public, error) {
	file, err := o.private()
	if err != nil {
		return seal.Public{}, err
	}
	p, err := seal.LoadPublic(publicFile(file))
	switch {
	case err == nil:
		return p, nil
	case !errors.Is(err, fs.ErrNotExist):
		return p, usage(err)
	}
	k, err := o.load(a)
	if errors.Is(err, fs.ErrNotExist) {
		return p, usage(fmt.Errorf("there is no key yet in %s; make one with pintle key new", filepath.Dir(file)))
	}
	if err != nil {
		return p, err
	}
	return k.Public(), nil
}

func (a *app) newKey(o keyOptions) error {
	file, err := o.private()
	if err != nil {
		return err
	}
	public := publicFile(file)
	for _, f := range []string{file, public} {
		if _, err := os.Lstat(f); err == nil {
			return usage(fmt.Errorf("%s is there already, and a key is never overwritten; name another with --key", f))
		}
	}
	phrase, err := o.ask(a, fmt.Sprintf("new passphrase, of at least %d characters, for %s", leastPassphrase, file), true)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
		return usage(fmt.Errorf("make the key's folder: %w", err))
	}
	k, err := seal.New()
	if err != nil {
		return err
	}
	if err := k.Save(file, phrase); err != nil {
		return usage(err)
	}
	if err := writeNew(public, k.Public().File()); err != nil {
		return usage(err)
	}
	return a.showKey(o)
}

// writeNew writes a file that is not there yet.
func writeNew(name string, text []byte) error {
	return atomicfile.WriteNew(name, 0o644, func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	})
}

func (a *app) showKey(o keyOptions) error {
	file, err := o.private()
	if err != nil {
		return err
	}
	p, err := o.public(a)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.out, "key %s\n", p.ID())
	fmt.Fprintf(a.out, "public key   %v\n", p)
	fmt.Fprintf(a.out, "kept in      %s\n", publicFile(file))
	if err := seal.CheckPrivate(file); err != nil {
		fmt.Fprintf(a.err, "pintle: nothing can be signed: %v\n", err)
		return nil
	}
	fmt.Fprintf(a.out, "private key  %s\n", file)
	return nil
}

func (a *app) exportKey(o keyOptions, to string) error {
	p, err := o.public(a)
	if err != nil {
		return err
	}
	err = writeNew(to, p.File())
	switch {
	case errors.Is(err, fs.ErrExist):
		return usage(fmt.Errorf("export the public key: %w; name a file that is not there yet", err))
	case err != nil:
		return usage(elsewhere(fmt.Errorf("export the public key: %w", err)))
	}
	fmt.Fprintf(a.out, "public key %s in %s\n", p.ID(), to)
	return nil
}
