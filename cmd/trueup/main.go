// Command trueup brings lamps of different makers to the same colour by
// measuring them.
package main

import "os"

func main() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }
