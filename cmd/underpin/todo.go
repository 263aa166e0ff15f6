package main

type checkCmd struct{}
type calcCmd struct{}
type serveCmd struct{}

func (c *checkCmd) Run(p *program) error { return nil }
func (c *calcCmd) Run(p *program) error  { return nil }
func (c *serveCmd) Run(p *program) error { return nil }
