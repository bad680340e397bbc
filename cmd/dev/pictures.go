package main

import "fmt"

func golden(d *dev, args []string) error { return fmt.Errorf("not yet") }
func chain(d *dev, args []string) error  { return fmt.Errorf("not yet") }
