// Package seal signs what a run leaves behind, in the format of minisign.
//
// A [Key] is an Ed25519 key (RFC 8032). [New] makes one; [Key.Save] keeps it in a file
// that only its owner can read, enciphered under a passphrase; [Load] takes it up again.
// [Key.Sign] makes a signature with a trusted comment, which is signed along, and [Verify]
// holds a signature against a [Public] key. Keys, signatures and enciphered key files are
// those of minisign, so that its ordinary tool does with them what this package does.
//
// The passphrase is stretched by scrypt (RFC 7914). Minisign's own setting takes 1 GiB of
// memory; a key made here takes 64 MiB, so that it can be used on a small single-board
// computer. The format writes the setting into the file, so either reads the other's.
package seal
