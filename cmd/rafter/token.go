package main

import (
	"errors"
	"time"

	"github.com/spf13/cobra"

	"rafter/cmd/internal/access"
	"rafter/cmd/internal/cli"
	"rafter/cmd/internal/cobracli"
)

func tokenCommand() *cobra.Command {
	c := &cobra.Command{
		Use: "token", Short: "list the desks that may command this user's hosts, and put one out",
		Long: "A desk is paired by a code that the host shows, and keeps a token. Here only hashes of tokens are kept. What is\n" +
			"revoked is out within a second, also while a host runs.",
		Example: "  rafter token revoke phone",
	}
	return cobracli.Group(c, nil, tokenListCommand(), tokenRevokeCommand())
}

func tokenListCommand() *cobra.Command {
	return &cobra.Command{
		Use: "list", Short: "one desk a line: its id, when it was paired, its name",
		Example: "  rafter token list",
		Args:    cobracli.Args(0, 0, ""),
		RunE: func(c *cobra.Command, _ []string) error {
			tokens, err := openTokens()
			if err != nil {
				return err
			}
			list, err := tokens.List()
			if err != nil {
				return cli.Fail("", err)
			}
			for _, k := range list {
				if err := say(c, "%s  %s  %s\n", k.ID, k.Made.Format(time.RFC3339), k.Name); err != nil {
					return err
				}
			}
			return nil
		},
	}
}

func tokenRevokeCommand() *cobra.Command {
	return &cobra.Command{
		Use: "revoke ID|NAME", Short: "put a desk out; it can be paired again",
		Example: "  rafter token revoke phone",
		Args:    cobracli.Args(1, 1, "ID|NAME"),
		RunE: func(_ *cobra.Command, args []string) error {
			tokens, err := openTokens()
			if err != nil {
				return err
			}
			err = tokens.Revoke(args[0])
			switch {
			case errors.Is(err, access.ErrUnknown):
				return cli.Fail("list them with: rafter token list", err)
			case err != nil:
				return cli.Fail("nothing was changed; see whether the file may be written, and its disk", err)
			}
			return nil
		},
	}
}

func openTokens() (*access.Tokens, error) {
	tokens, err := access.OpenTokens(access.DefaultPath(), nil)
	if err != nil {
		return nil, cli.Fail("", err)
	}
	return tokens, nil
}
