package report

import (
	"encoding/json"
	"io"
)

// JSON writes a value as JSON that a person can read too. Errors are those of w.
func JSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	return e.Encode(v)
}
