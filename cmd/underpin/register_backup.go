package main

import (
	"context"
	"fmt"

	"underpin/fleet"
	"underpin/record"
)

type backupCmd struct {
	where
	keys
	To   string `help:"New file that will hold the backup." placeholder:"FILE" required:""`
	JSON bool   `name:"json" help:"Print what was found in it as JSON."`
}

// Run backs up a register while it is at work.
func (c *backupCmd) Run(p *program) error {
	trusted, err := c.keys.read()
	if err != nil {
		return err
	}
	return c.withRegister(func(ctx context.Context, r *fleet.Register) error {
		report, err := r.Backup(ctx, c.To, trusted...)
		if err != nil {
			return err
		}
		done := fmt.Sprintf("%s holds the register, passwords included: keep it as carefully.", c.To)
		if c.Database != "" {
			done = fmt.Sprintf("%s holds an export: every record, seal, reading and document, but no password, session or token. The server's own tools (pg_dump) copy those too.", c.To)
		}
		return p.filed(c.To, done, report, c.JSON)
	})
}

// filed tells what was written, and what verifying it found.
func (p *program) filed(file, done string, r *record.Report, asJSON bool) error {
	if asJSON {
		if !r.Sound() {
			p.code = exitNo
		}
		return p.printJSON(struct {
			File string `json:"file"`
			proved
		}{file, newProved(r)})
	}
	paragraph(p.out, "", "", done)
	fmt.Fprintln(p.out)
	return p.proof(r, false)
}

type restoreCmd struct {
	keys
	File string `arg:"" help:"Backup, or an export."`
	Data string `help:"New or empty folder that will keep the register." placeholder:"NEW" required:""`
	JSON bool   `name:"json" help:"Print what was found in it as JSON."`
}

// Run makes a data folder of a backup.
func (c *restoreCmd) Run(p *program) error {
	trusted, err := c.keys.read()
	if err != nil {
		return err
	}
	ctx, stop := interruptible()
	defer stop()
	report, err := fleet.Restore(ctx, c.File, c.Data, fleet.World{Program: version()}, trusted...)
	if err != nil {
		return err
	}
	return p.filed(c.Data, fmt.Sprintf("%s holds the register as it was when %s was made.", c.Data, c.File), report, c.JSON)
}
