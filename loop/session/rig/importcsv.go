package rig

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"trueup/dmx"
	"trueup/profiles/yamlfile"
)

// Fields of a fixture that a patch list may hold.
var importFields = []string{"name", "address", "universe", "slot", "profile", "mode", "desk_channel", "probe"}

// ParseMapping reads a column mapping, "name=What,address=Where": our field,
// and the column's heading (or its number from 1). The address may come from
// one column ("3/101", "3.101" or "3:101") or from universe and slot.
func ParseMapping(text string) (map[string]string, error) {
	m := map[string]string{}
	for _, pair := range strings.Split(text, ",") {
		field, column, ok := strings.Cut(pair, "=")
		field, column = strings.TrimSpace(field), strings.TrimSpace(column)
		if !ok || field == "" || column == "" {
			return nil, fmt.Errorf("mapping %q: want field=column pairs, such as name=What,address=Where", text)
		}
		if !slices.Contains(importFields, field) {
			hint := "; there are " + strings.Join(importFields, ", ")
			if near := yamlfile.Nearest(field, importFields); near != "" {
				hint = fmt.Sprintf("; did you mean %q?", near)
			}
			return nil, fmt.Errorf("mapping: the field %q is not known%s", field, hint)
		}
		if m[field] != "" {
			return nil, fmt.Errorf("mapping: the field %q stands twice", field)
		}
		m[field] = column
	}
	if m["name"] == "" {
		return nil, errors.New("mapping: say which column holds the names, such as name=What")
	}
	if (m["universe"] == "") != (m["slot"] == "") || m["universe"] != "" && m["address"] != "" {
		return nil, errors.New("mapping: give address=, or both universe= and slot=")
	}
	return m, nil
}

// MapByHeadings is the mapping of a list whose headings are our own words, in any case; nil where they are not enough.
func MapByHeadings(heads []string) map[string]string {
	m := map[string]string{}
	for _, h := range heads {
		field := strings.ReplaceAll(strings.ToLower(h), " ", "_")
		if slices.Contains(importFields, field) && m[field] == "" {
			m[field] = h
		}
	}
	if m["address"] != "" {
		delete(m, "universe")
		delete(m, "slot")
	}
	if m["name"] == "" || m["address"] == "" && (m["universe"] == "" || m["slot"] == "") {
		return nil
	}
	return m
}

// Bounds of a patch list: bytes, and cells in all (2000 rows of 25 columns).
const (
	maxList  = 256 << 10
	maxCells = 50_000
)

// listReader reads the cells of a patch list, whichever way they are separated.
func listReader(data []byte) *csv.Reader {
	data = bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF"))
	r := csv.NewReader(bytes.NewReader(data))
	r.Comma = separator(data)
	r.FieldsPerRecord = -1
	r.TrimLeadingSpace = r.Comma != '\t' // with tabs it would eat empty columns
	return r
}

// Headings are the columns of a patch list; file is the name used in messages.
func Headings(file string, data []byte) ([]string, error) {
	heads, err := listReader(data).Read()
	if err != nil {
		return nil, fmt.Errorf("%s: no line of headings: %w", file, err)
	}
	for i := range heads {
		heads[i] = strings.TrimSpace(heads[i])
	}
	return heads, nil
}

// ImportCSV reads a patch list: text with a line of headings, separated by
// commas, semicolons or tabs. file is the name used in messages; the error is
// yamlfile.Errors with every row that can not be used. A row without an
// address becomes a by-hand fixture.
func ImportCSV(file string, data []byte, mapping map[string]string) ([]DraftFixture, error) {
	if len(data) > maxList {
		return nil, fmt.Errorf("%s: larger than %d KiB: not a patch list", file, maxList>>10)
	}
	heads, err := Headings(file, data)
	if err != nil {
		return nil, err
	}
	if bytes.Count(data, []byte(string(separator(data)))) > maxCells {
		return nil, fmt.Errorf("%s: more than %d cells: not a patch list", file, maxCells)
	}
	r := listReader(data)
	var bad yamlfile.Errors
	fault := func(line, col int, format string, args ...any) *yamlfile.Error {
		e := &yamlfile.Error{File: file, Line: line, Col: col, Msg: fmt.Sprintf(format, args...)}
		if len(bad) < 200 {
			bad = append(bad, e)
		}
		return e
	}
	_, _ = r.Read() // the headings
	columns, err := findColumns(heads, mapping)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	var all []DraftFixture
	seen := map[string]int{}
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			var p *csv.ParseError
			if errors.As(err, &p) {
				fault(p.Line, p.Column, "%v", p.Err)
			}
			break
		}
		if strings.TrimSpace(strings.Join(row, "")) == "" {
			continue
		}
		f, ok := (&csvRow{r, columns, row, fault}).fixture(seen)
		if !ok {
			continue
		}
		if all = append(all, f); len(all) > maxFixtures {
			line, _ := r.FieldPos(0)
			fault(line, 1, "more than %d fixtures", maxFixtures)
			break
		}
	}
	if len(bad) > 0 {
		return nil, bad
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("%s: no fixture below the headings", file)
	}
	return all, nil
}

// csvRow is one line of a patch list.
type csvRow struct {
	r       *csv.Reader
	columns map[string]int
	cells   []string
	fault   func(line, col int, format string, args ...any) *yamlfile.Error
}

func (row *csvRow) get(field string) string {
	if c, ok := row.columns[field]; ok && c < len(row.cells) {
		return strings.TrimSpace(row.cells[c])
	}
	return ""
}

// col is the column of a field in the file, for those who have to find it.
func (row *csvRow) col(field string) int {
	if c, ok := row.columns[field]; ok && c < len(row.cells) {
		_, at := row.r.FieldPos(c)
		return at
	}
	return 1
}

// fixture reads the line; what is wrong with it is noted, and it is left out.
// seen holds the lines of the names so far.
func (row *csvRow) fixture(seen map[string]int) (f DraftFixture, ok bool) {
	line, _ := row.r.FieldPos(0)
	get := row.get
	f = DraftFixture{Name: get("name"), Profile: get("profile"), Mode: get("mode"), DeskChannel: get("desk_channel"), Probe: get("probe")}
	if err := checkName(f.Name); err != nil {
		row.fault(line, row.col("name"), "%v", err)
		return f, false
	}
	if strings.Contains(f.Name, "..") {
		row.fault(line, row.col("name"), "the name %q holds two dots, which a rig file takes for a range", f.Name)
		return f, false
	}
	if was := seen[f.Name]; was != 0 {
		row.fault(line, row.col("name"), "the name %q stands already in line %d", f.Name, was).Advise("number them, such as %s 1 and %s 2", f.Name, f.Name)
		return f, false
	}
	seen[f.Name] = line
	var err error
	f.Address, err = rowAddress(get("address"), get("universe"), get("slot"))
	if err != nil {
		at := "address"
		if _, named := row.columns[at]; !named {
			at = "universe"
		}
		row.fault(line, row.col(at), "%v", err)
		return f, false
	}
	f.ByHand = !f.Address.Valid()
	return f, true
}

// rowAddress reads the address of a row; empty means that there is none.
func rowAddress(address, universe, slot string) (dmx.Address, error) {
	if universe != "" || slot != "" {
		return dmx.ParseAddress(universe + "/" + slot)
	}
	if address == "" {
		return dmx.Address{}, nil
	}
	return dmx.ParseAddress(strings.NewReplacer(".", "/", ":", "/").Replace(address))
}

// findColumns finds the column of every mapped field, by heading or number.
func findColumns(heads []string, mapping map[string]string) (map[string]int, error) {
	columns := map[string]int{}
	for _, field := range keys(mapping) {
		want := mapping[field]
		if i := slices.Index(heads, want); i >= 0 {
			columns[field] = i
			continue
		}
		if n, err := strconv.Atoi(want); err == nil && n >= 1 && n <= len(heads) {
			columns[field] = n - 1
			continue
		}
		hint := "the headings are " + strings.Join(heads, ", ")
		if near := yamlfile.Nearest(want, heads); near != "" {
			hint = fmt.Sprintf("did you mean %q?", near)
		}
		return nil, fmt.Errorf("no column %q for %s; %s", want, field, hint)
	}
	return columns, nil
}

// separator is the one of comma, semicolon and tab that the first line has
// most of.
func separator(data []byte) rune {
	first, _, _ := bytes.Cut(data, []byte("\n"))
	best, most := ',', 0
	for _, c := range []rune{',', ';', '\t'} {
		if n := bytes.Count(first, []byte(string(c))); n > most {
			best, most = c, n
		}
	}
	return best
}
