package main

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"pintle/scenarios"
)

// firmware lets a run be of the very program that a file holds: its digest goes into the
// record. Where controller.yaml has one it must be the same, so that nobody puts one
// program to the test and names another.
func firmware(job *scenarios.Job, file string) error {
	if file == "" {
		return nil
	}
	f, err := os.Open(file)
	if err != nil {
		return usage(fmt.Errorf("read the firmware: %w; --firmware names the file of the program that was built", err))
	}
	defer f.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, f); err != nil {
		return usage(fmt.Errorf("read the firmware %s: %w", file, err))
	}
	digest := hex.EncodeToString(sum.Sum(nil))
	said := &job.Controller.FirmwareDigest
	if said.Given() && !strings.EqualFold(said.Text, digest) {
		return usage(said.Wrong(fmt.Sprintf("the firmware %s has another SHA-256: %s", file, digest),
			"program the controller with what this file says, or put the digest right; without the key, that of the firmware is taken"))
	}
	said.Text, job.FirmwareFile = digest, filepath.Base(file)
	return nil
}
