package safety

import (
	"fmt"
	"runtime/debug"
)

// PanicError is a panic that Guard turned into an error.
type PanicError struct {
	Value any
	Stack []byte
}

// Error says what panicked, without the stack.
func (e *PanicError) Error() string { return fmt.Sprintf("fault in the program: %v", e.Value) }

// Guard runs f. If f panics, the lamps are handed back gently, and the panic comes
// back as a *PanicError. Every goroutine that works while the door is open
// has to run under Guard: a panic elsewhere ends the process, and then only the
// receivers' own loss behaviour is left (E1.31-2018 6.7.1).
func (d *Door) Guard(f func() error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			d.Release(fmt.Sprintf("fault in the program: %v", p))
			err = &PanicError{Value: p, Stack: debug.Stack()}
		}
	}()
	return f()
}
