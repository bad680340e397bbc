package main

import "fmt"

func golden(d *dev, args []string) error   { return fmt.Errorf("not yet") }
func chain(d *dev, args []string) error    { return fmt.Errorf("not yet") }
func typeKeys(d *dev) error                { return fmt.Errorf("not yet") }
func kills(d *dev, n int) error            { return fmt.Errorf("not yet") }
func keyToFrame(d *dev) ([]float64, error) { return nil, fmt.Errorf("not yet") }
