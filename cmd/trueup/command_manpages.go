package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// newManPagesCommand writes what --help says as pages for man(1); the release
// script calls it.
func newManPagesCommand() *cobra.Command {
	return &cobra.Command{
		Use:    "manpages FOLDER",
		Short:  "Write a manual page of every command into a folder, for man",
		Hidden: true,
		Args:   cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if err := os.MkdirAll(args[0], 0o755); err != nil {
				return err
			}
			return writeManPages(c.Root(), args[0])
		},
	}
}

func writeManPages(c *cobra.Command, dir string) error {
	if c.Hidden || c.Name() == "help" || c.Name() == "completion" {
		return nil
	}
	path := filepath.Join(dir, manName(c)+".1")
	if err := os.WriteFile(path, []byte(manPage(c)), 0o644); err != nil {
		return err
	}
	for _, sub := range c.Commands() {
		if err := writeManPages(sub, dir); err != nil {
			return err
		}
	}
	return nil
}

func manName(c *cobra.Command) string { return strings.ReplaceAll(c.CommandPath(), " ", "-") }

// manPage writes one page in the man macros of groff (groff_man(7)). It bears no
// date, so that two builds of one version write the same bytes.
func manPage(c *cobra.Command) string {
	var b strings.Builder
	fmt.Fprintf(&b, ".TH %q 1 \"\" %q\n.nh\n", strings.ToUpper(manName(c)), "trueup "+version())
	fmt.Fprintf(&b, ".SH NAME\n%s \\- %s\n", roff(manName(c)), roff(c.Short))
	fmt.Fprintf(&b, ".SH SYNOPSIS\n.nf\n%s\n.fi\n", roff(c.UseLine()))
	b.WriteString(".SH DESCRIPTION\n" + roffText(c.Long))
	if c.Example != "" {
		b.WriteString(".SH EXAMPLES\n" + roffText(c.Example))
	}
	section := func(title string, flags *pflag.FlagSet) {
		if flags.HasAvailableFlags() {
			b.WriteString(".SH " + title + "\n" + roffText(flags.FlagUsages()))
		}
	}
	section("OPTIONS", c.NonInheritedFlags())
	section("OPTIONS OF EVERY COMMAND", c.InheritedFlags())
	var see []string
	if c.HasParent() {
		see = append(see, manName(c.Parent())+"(1)")
	}
	for _, sub := range c.Commands() {
		if !sub.Hidden && sub.Name() != "help" && sub.Name() != "completion" {
			see = append(see, manName(sub)+"(1)")
		}
	}
	fmt.Fprintf(&b, ".SH SEE ALSO\n%s\n", roff(strings.Join(see, ", ")))
	return b.String()
}

// roffText sets lines of help: those that are indented stand as they are, the
// others are filled.
func roffText(text string) string {
	var b strings.Builder
	verbatim := false
	for line := range strings.Lines(strings.Trim(text, "\n") + "\n") {
		line = strings.TrimRight(line, " \n")
		if indented := strings.HasPrefix(line, " "); indented != verbatim && line != "" {
			b.WriteString(map[bool]string{true: ".nf\n", false: ".fi\n"}[indented])
			verbatim = indented
		}
		if line == "" {
			b.WriteString(".PP\n")
			continue
		}
		b.WriteString(roff(line) + "\n")
	}
	if verbatim {
		b.WriteString(".fi\n")
	}
	return b.String()
}

// roff escapes what groff would take for its own.
func roff(text string) string {
	text = strings.NewReplacer(`\`, `\e`, "-", `\-`, "'", `\(aq`, "^", `\(ha`, "~", `\(ti`).Replace(text)
	if strings.HasPrefix(text, ".") {
		text = `\&` + text
	}
	return text
}
