// Command hemrow turns a surveyed field outline into rows a tractor can follow
// and the list of what they take.
package main

import (
	"context"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"slices"

	"github.com/spf13/cobra"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	context.AfterFunc(ctx, stop) // a second interrupt ends the program at once
	code := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// app is one call of the program: its streams and the flags of every command.
type app struct {
	in       io.Reader
	out, err io.Writer
	json     bool
}

// run is the program without the process: tests call it.
func run(ctx context.Context, args []string, in io.Reader, out, errw io.Writer) int {
	a := &app{in: in, out: out, err: errw}
	root := a.root()
	root.SetArgs(args)
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errw)
	err := root.ExecuteContext(ctx)
	if err != nil {
		// a mistake before it on the line keeps --json from being read
		reportError(errw, err, a.json || slices.Contains(args, "--json"))
	}
	return exitCode(err)
}

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:   "hemrow",
		Short: "Rows for an orchard: where they run and what they take",
		Long: `hemrow lays out the mulched rows of an orchard on a surveyed field and counts
what they take: film or chips, edge trench, drip tape, stones, holes, plants.

Try it with the built-in field:    hemrow demo
Look into a file from a surveyor:  hemrow check field.zip
Begin with a field of your own:    hemrow starter field.zip
` + exitHelp,
		Version:       version(),
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          cobra.NoArgs,
		RunE:          func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.PersistentFlags().BoolVar(&a.json, "json", false, "print errors as JSON")
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return &usageError{err}
	})
	root.AddCommand(a.demo(), a.check(), a.plan(), a.starter(), a.batch(), a.outlines(), a.schema())
	for _, c := range root.Commands() {
		wrapArgs(c)
	}
	wrapArgs(root)
	return root
}

// wrapArgs makes a wrong number of arguments a usage error.
func wrapArgs(c *cobra.Command) {
	if args := c.Args; args != nil {
		c.Args = func(c *cobra.Command, list []string) error {
			if err := args(c, list); err != nil {
				return &usageError{err}
			}
			return nil
		}
	}
}

// version is the module version the program was built from, or (devel).
func version() string {
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" {
		return info.Main.Version
	}
	return "(devel)"
}
