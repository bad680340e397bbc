package main

import (
	"encoding/json"
	"fmt"
	"io"

	"github.com/spf13/cobra"
)

// say writes data to standard output.
func say(c *cobra.Command, format string, args ...any) error {
	_, err := fmt.Fprintf(c.OutOrStdout(), format, args...)
	return err
}

// tell writes for people, to standard error. That nobody reads it is no failure.
func tell(c *cobra.Command, format string, args ...any) {
	_, _ = fmt.Fprintf(c.ErrOrStderr(), c.Root().Name()+": "+format+"\n", args...)
}

// printJSON writes one JSON value and a newline.
func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	return e.Encode(v)
}
