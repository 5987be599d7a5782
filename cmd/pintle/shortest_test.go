package main

import (
	"bytes"
	"encoding/json"
	"os/exec"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/reports/proof"
	"pintle/rig/need"
)

// coverProgram finds a minimum set cover as an integer program: x is 1 for each scenario that is
// taken, every defect is caught at least once, first the fewest, then of as few the quickest.
const coverProgram = `
import json, sys
import numpy as np
from scipy.optimize import milp, LinearConstraint, Bounds
p = json.load(sys.stdin)
at = {s["name"]: i for i, s in enumerate(p["scenarios"])}
rows = [d["caught_by"] for d in p["defects"] if d["caught_by"]]
a = np.zeros((len(rows), len(at)))
for i, by in enumerate(rows):
    for name in by:
        a[i, at[name]] = 1
took = np.array([s["took_ns"] / 1e9 for s in p["scenarios"]])
one = np.ones(len(at))
def least(cost, *more):
    r = milp(cost, constraints=[LinearConstraint(a, lb=1), *more], integrality=one, bounds=Bounds(0, 1), options={"mip_rel_gap": 0})
    assert r.status == 0, r.message
    return np.round(r.x)
n = int(least(one).sum())
x = least(took, LinearConstraint(one.reshape(1, -1), lb=n, ub=n))
assert (a @ x >= 1).all() and x.sum() == n
print(json.dumps({"count": n, "seconds": float(took @ x)}))
`

// scipy gives a Python that has it.
func scipy(t *testing.T) string {
	t.Helper()
	path := need.Tool(t, "python3", "apt-get install python3-scipy")
	for _, python := range []string{path, "/usr/bin/python3"} { // the second where another one comes first on the path
		if exec.Command(python, "-c", "from scipy.optimize import milp").Run() == nil {
			return python
		}
	}
	need.Missing(t, "scipy.optimize.milp is not installed", "apt-get install python3-scipy")
	return ""
}

// smallestByProgram holds the smallest part of the scenarios that the branch and bound
// found to what the HiGHS solver of scipy.optimize.milp finds in the same matrix: how many
// there are, and how long they take. Which ones they are need not be the same.
func smallestByProgram(t *testing.T, p *proof.Proof) {
	told, err := json.Marshal(p.Tell())
	require.NoError(t, err)
	solve := exec.Command(scipy(t), "-c", coverProgram)
	var complaint bytes.Buffer
	solve.Stdin, solve.Stderr = bytes.NewReader(told), &complaint
	out, err := solve.Output()
	require.NoError(t, err, complaint.String())
	var found struct {
		Count   int
		Seconds float64
	}
	require.NoError(t, json.Unmarshal(out, &found))
	mine := p.Shortest()
	require.True(t, mine.Smallest)
	require.Len(t, mine.Scenarios, found.Count)
	require.InDelta(t, found.Seconds, mine.Took.Seconds(), 1e-3)
}
