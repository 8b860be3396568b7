package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"
)

// workingTowards is the release that this source tree becomes. A build of a
// tagged release knows its version by itself.
const workingTowards = "0.1.0"

func newVersionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Print the version and the platform it was built for",
		Args:  cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			fmt.Fprintln(c.OutOrStdout(), "trueup", versionLine())
			return nil
		},
	}
}

// version is the program's, as journals and manual pages name it.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return workingTowards
	}
	return versionOf(info.Main.Version)
}

// versionOf takes what the go command found of a tag (go help buildvcs): v1.2.3,
// or v1.2.3+dirty of a changed tree. What it makes up where there is no tag,
// v0.0.0-DATE-COMMIT, says less than the release that is worked towards.
func versionOf(module string) string {
	number, ok := strings.CutPrefix(module, "v")
	if !ok || strings.HasPrefix(number, "0.0.0-") || strings.Contains(number, "-0.") {
		return workingTowards
	}
	return number
}

// versionLine is the version, the commit where the build knows it, and the platform.
func versionLine() string {
	commit, changed := "", ""
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			switch {
			case s.Key == "vcs.revision":
				commit = ", commit " + s.Value[:min(12, len(s.Value))]
			case s.Key == "vcs.modified" && s.Value == "true":
				changed = " with changes"
			}
		}
	}
	return fmt.Sprintf("%s%s%s (%s, %s/%s)", version(), commit, changed, runtime.Version(), runtime.GOOS, runtime.GOARCH)
}
