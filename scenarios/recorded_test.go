package scenarios

import (
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/scenarios/demo"
	"pintle/scenarios/starter"
)

// A job made out of its own texts is the same job: nothing it rests on is missing among
// them.
func TestFromFilesGivesTheSameJob(t *testing.T) {
	for name, folder := range map[string]fs.FS{"demo": demo.Folder(), "starter": starter.Folder()} {
		job, err := Load(folder, "", equipment)
		require.NoError(t, err, name)
		again, err := FromFiles(job.Files, equipment)
		require.NoError(t, err, name)
		require.Equal(t, job.Files, again.Files, name)
		require.Equal(t, len(job.Scenarios), len(again.Scenarios), name)
		for i := range job.Scenarios {
			require.Equal(t, job.Scenarios[i], again.Scenarios[i], name)
		}
		require.Equal(t, job.Controller, again.Controller)
		require.Equal(t, job.Bench, again.Bench)
		require.Equal(t, job.Gate.Spec, again.Gate.Spec)
	}
}

// The built-in scenarios are those of the texts: one that was changed is the changed one,
// and one that is not there is not put in, not even where the controller's file leaves it
// out by name.
func TestFromFilesTakesTheTextsScenarios(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, starter.Folder()))
	file := filepath.Join(dir, "controller.yaml")
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	left := strings.Replace(string(text), "  #without: [rebound-off-the-stop]", "  without: [normal-cycle]", 1)
	require.NotEqual(t, string(text), left)
	require.NoError(t, os.WriteFile(file, []byte(left), 0o644))
	job, err := Load(os.DirFS(dir), dir, equipment)
	require.NoError(t, err)
	again, err := FromFiles(job.Files, equipment)
	require.NoError(t, err)
	_, ok := again.Scenario("normal-cycle")
	require.False(t, ok)
	require.Len(t, again.Scenarios, len(job.Scenarios))

	var some []File
	for _, f := range job.Files {
		if f.Name != "built-in/button-held.yaml" {
			some = append(some, f)
		}
	}
	require.Len(t, some, len(job.Files)-1)
	again, err = FromFiles(append(some, File{"bench-check.json", []byte("{}")}), equipment)
	require.NoError(t, err)
	_, ok = again.Scenario("button-held")
	require.False(t, ok)
}

func TestFromFilesRefuses(t *testing.T) {
	job, err := Load(demo.Folder(), "", equipment)
	require.NoError(t, err)
	for want, files := range map[string][]File{
		"two such files":           append(append([]File{}, job.Files...), job.Files[0]),
		"no file of a scenario":    {{Name: "built-in/Ä.yaml"}},
		"no name that a file":      {{Name: "../bench.yaml"}},
		"no such folder":           nil,
		"the folder holds no job":  {{Name: "bench-check.json"}},
		"there is no such file":    {{Name: "bench.yaml"}},
		"no name that a file can ": {{Name: ""}},
	} {
		_, err := FromFiles(files, equipment)
		require.ErrorContains(t, err, want)
	}
}
