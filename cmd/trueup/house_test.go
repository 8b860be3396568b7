package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
)

// The house plan: who may import whom (DEVELOPERS.md). Each room lists the
// rooms of ours that its production code may import; a room may always import
// its own sub-rooms.
var mayImport = map[string][]string{
	"colorcalc":            {},
	"dmx":                  {},
	"profiles/yamlfile":    {},            // open to all: strict reading of YAML
	"profiles/printable":   {},            // open to all: foreign text on a terminal
	"profiles/userfile":    {},            // open to all: files that a person or a rig names
	"profiles/oserror":     {},            // open to all: the system's errors in words
	"profiles/law":         {"colorcalc"}, // what the codes of a mode mean
	"profiles":             {"colorcalc", "dmx"},
	"safety":               {"dmx"},
	"loop/solve/num":       {"colorcalc"},
	"loop/solve/model":     {"colorcalc", "loop/solve/num", "profiles/law"},
	"loop/solve/estimate":  {"colorcalc", "loop/solve/model", "loop/solve/num"},
	"loop/solve/plan":      {"colorcalc", "loop/solve/model", "loop/solve/num"},
	"loop/solve":           {"colorcalc", "profiles/law"},
	"loop/feed/osc":        {},
	"loop/feed/instrument": {"colorcalc", "loop/feed/osc"}, // a raw line to a draft of a reading
	"loop/feed":            {"colorcalc"},
	"loop":                 {"colorcalc", "dmx", "profiles", "safety"},
	"loop/scene":           {"colorcalc", "loop/solve/num"},
	"loop/session/core":    {"colorcalc", "loop"}, // the run itself; everything around it is the shell's
	"cmd":                  {"colorcalc", "dmx", "profiles", "safety", "loop", "examples"},
	"examples":             {}, // carries files, no code
}

// Libraries that stay in one place, each with its reason.
var onlyIn = []struct{ path, room, why string }{
	{"github.com/spf13/viper", "cmd", "settings of the machine stop at the command; rooms take typed values"},
	{"github.com/spf13/cobra", "cmd", "the command line stops at the command"},
	{"gonum.org/v1/plot", "cmd", "pictures are made for reports and pages only"},
	{"github.com/Hundemeier/go-sacn/sacn", "dmx", "the library sees a packet only behind our own gate"},
}

// Rooms that must not reach the network or a file by themselves.
var pure = []string{"loop/feed/osc", "loop/feed/instrument", "colorcalc", "loop/solve", "loop/session/core", "loop/rigtest", "loop/rehearse", "profiles/printable", "profiles/law", "profiles/yamlfile", "profiles/archive", "profiles/xmltree"}

// machines do nothing by themselves: no clock, no goroutine, nothing to lock or to
// wait for. What happened is told to them, so that a run can be played again.
var machines = []string{"loop/solve", "loop/scene", "loop/session/core"}

type source struct {
	path string // slash separated, from the module's root
	file *ast.File
	text string
	test bool
}

func moduleRoot(t *testing.T) string {
	t.Helper()
	root, err := filepath.Abs("../..")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(root, "go.mod")); err != nil {
		t.Fatal(err)
	}
	return root
}

// sources are all Go files of the module, read once for all tests: they look, and change nothing.
func sources(t *testing.T) []source {
	t.Helper()
	all, err := readSources()
	if err != nil {
		t.Fatal(err)
	}
	if len(all) < 20 {
		t.Fatalf("only %d Go files found: the walk is broken", len(all))
	}
	return all
}

var readSources = sync.OnceValues(func() (all []source, err error) {
	const root = "../.."
	fset := token.NewFileSet()
	err = filepath.WalkDir(root, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() && p != root && (strings.HasPrefix(name, ".") || name == "testdata" || name == "trueup-out") {
			return fs.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(name, ".go") {
			return nil
		}
		text, err := os.ReadFile(p)
		if err != nil {
			return err
		}
		f, err := parser.ParseFile(fset, p, text, parser.ParseComments)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, p)
		if err != nil {
			return err
		}
		all = append(all, source{filepath.ToSlash(rel), f, string(text), strings.HasSuffix(name, "_test.go")})
		return nil
	})
	return all, err
})

func inside(path, room string) bool { return path == room || strings.HasPrefix(path, room+"/") }

// roomOf finds the most specific room of a folder.
func roomOf(dir string) string {
	best := ""
	for room := range mayImport {
		if inside(dir, room) && len(room) > len(best) {
			best = room
		}
	}
	return best
}

func TestEveryImportPointsDown(t *testing.T) {
	for _, s := range sources(t) {
		dir := filepath.ToSlash(filepath.Dir(s.path))
		room := roomOf(dir)
		if room == "" {
			t.Errorf("%s: in none of the six rooms", s.path)
			continue
		}
		for _, imp := range s.file.Imports {
			path, _ := strconv.Unquote(imp.Path.Value)
			for _, o := range onlyIn {
				if inside(path, o.path) && !inside(dir, o.room) && !s.test {
					t.Errorf("%s imports %s: %s", s.path, path, o.why)
				}
			}
			if path == "net" || path == "os" || path == "net/http" {
				for _, p := range pure {
					if inside(dir, p) && !s.test {
						t.Errorf("%s imports %s: %s is pure", s.path, path, p)
					}
				}
			}
			target, ours := strings.CutPrefix(path, "trueup/")
			if !ours || s.test {
				continue
			}
			if inside(target, room) {
				continue
			}
			if !allowed(room, target) {
				t.Errorf("%s imports %s: %s may import only %v", s.path, path, room, mayImport[room])
			}
		}
	}
}

// A machine that looked at a clock or started a goroutine would decide otherwise when
// it is played again.
func TestMachinesDoNothingByThemselves(t *testing.T) {
	clock := map[string]bool{"Now": true, "Since": true, "Until": true, "After": true, "AfterFunc": true, "Sleep": true, "NewTimer": true, "NewTicker": true, "Tick": true}
	seen := 0
	for _, s := range sources(t) {
		machine := s.path == "loop/loop.go" || s.path == "loop/settle.go"
		for _, m := range machines {
			machine = machine || inside(s.path, m)
		}
		if !machine || s.test {
			continue
		}
		seen++
		for _, imp := range s.file.Imports {
			switch path, _ := strconv.Unquote(imp.Path.Value); path {
			case "context", "sync", "sync/atomic", "math/rand", "log":
				t.Errorf("%s imports %s", s.path, path)
			}
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.GoStmt, *ast.SelectStmt, *ast.SendStmt:
				t.Errorf("%s: a machine starts nothing and waits for nothing", s.path)
			case *ast.SelectorExpr:
				if x, ok := n.X.(*ast.Ident); ok && x.Name == "time" && clock[n.Sel.Name] {
					t.Errorf("%s uses time.%s: time is told to it", s.path, n.Sel.Name)
				}
			}
			return true
		})
	}
	if seen < 10 {
		t.Errorf("only %d files were looked at: the test has lost what it watches", seen)
	}
}

func allowed(room, target string) bool {
	for _, a := range mayImport[room] {
		if inside(target, a) {
			return true
		}
	}
	return slices.Contains(openLeaves, target) && room != "colorcalc" && room != "dmx" && room != "safety"
}

// openLeaves know nothing of ours, and every room may use them but the lowest
// two and safety.
var openLeaves = []string{"profiles/printable", "profiles/yamlfile", "profiles/userfile", "profiles/oserror"}

// Everything that a command writes passes the guard that run puts before the
// terminal; and names that come from outside go through printable.Text on the
// way, so that they stay on their line.
func TestForeignTextIsMadePrintable(t *testing.T) {
	foreign := []string{"Topic", "Why", "Probe", "Serial", "Raw"}
	seen := 0
	for _, s := range sources(t) {
		if s.test || filepath.ToSlash(filepath.Dir(s.path)) != "cmd/trueup" {
			continue
		}
		if regexp.MustCompile(`os\.Std(out|err)`).MatchString(s.text) && s.path != "cmd/trueup/main.go" {
			t.Errorf("%s writes to the terminal past the command's own output", s.path)
		}
		seen += strings.Count(s.text, "printable.Text(")
		bare := func(e ast.Expr) {
			if sel, ok := e.(*ast.SelectorExpr); ok && slices.Contains(foreign, sel.Sel.Name) {
				t.Errorf("%s shows .%s as it came: put it through printable.Text", s.path, sel.Sel.Name)
			}
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.BinaryExpr:
				if n.Op == token.ADD {
					bare(n.X)
					bare(n.Y)
				}
			case *ast.CallExpr:
				name := ""
				switch f := n.Fun.(type) {
				case *ast.SelectorExpr:
					name = f.Sel.Name
				case *ast.Ident:
					name = f.Name
				}
				if strings.HasSuffix(name, "rintf") || strings.HasSuffix(name, "rintln") || strings.HasPrefix(name, "Fprint") || name == "say" || name == "add" || name == "line" {
					quoted := len(n.Args) > 1 && strings.Contains(literals(n.Args), "%q") // which escapes by itself
					for _, a := range n.Args {
						if !quoted {
							bare(a)
						}
					}
				}
			}
			return true
		})
	}
	if seen < 5 {
		t.Errorf("printable.Text is used %d times: this test has lost what it watches", seen)
	}
}

// literals are the texts that stand in a list of arguments.
func literals(args []ast.Expr) string {
	all := ""
	for _, a := range args {
		if l, ok := a.(*ast.BasicLit); ok {
			all += l.Value
		}
	}
	return all
}

// A file that a person or a rig names may be a device that never ends, a pipe
// that nobody writes to, or as large as the disk. userfile is where such names
// are opened, and yamlfile what reads YAML; the library itself has no bounds.
func TestPeoplesFilesAreOpenedWithinBounds(t *testing.T) {
	opens := regexp.MustCompile(`\b(os\.(Open|ReadFile|OpenInRoot|OpenRoot|DirFS)\b|os\.OpenFile\([^)]*O_RD|yaml\.(Unmarshal|NewDecoder)|zip\.OpenReader|gzip\.NewReader|tls\.LoadX509KeyPair|ioutil\.)`)
	seen := false
	for _, s := range sources(t) {
		if s.test || inside(s.path, "loop/looptest") {
			continue
		}
		for _, m := range opens.FindAllString(s.text, -1) {
			if inside(s.path, "profiles/userfile") {
				seen = true
				continue
			}
			t.Errorf("%s uses %s: open it with profiles/userfile, which takes regular files of a bounded size only (YAML: profiles/yamlfile)", s.path, m)
		}
	}
	if !seen {
		t.Error("profiles/userfile opens nothing: this test has lost what it watches")
	}
}

// A level leaves the machine only through the governor: nothing but the safety
// room makes a sender, so no path from the loop or a command leads round it.
func TestOnlyTheGovernorMakesASender(t *testing.T) {
	seen := false
	for _, s := range sources(t) {
		alias := ""
		for _, imp := range s.file.Imports {
			if path, _ := strconv.Unquote(imp.Path.Value); path == "trueup/dmx/sacn" {
				alias = "sacn"
				if imp.Name != nil {
					alias = imp.Name.Name
				}
			}
		}
		if alias == "" || s.test {
			continue
		}
		if alias == "." {
			t.Errorf("%s: dot import of dmx/sacn hides who makes a sender", s.path)
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			sel, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			x, ok := sel.X.(*ast.Ident)
			if !ok || x.Name != alias {
				return true
			}
			if sel.Sel.Name == "NewSender" || sel.Sel.Name == "Sender" {
				seen = true
				if !inside(s.path, "safety") {
					t.Errorf("%s names sacn.%s: only the governor may send levels", s.path, sel.Sel.Name)
				}
			}
			return true
		})
	}
	if !seen {
		t.Error("nobody names sacn.NewSender: this test has lost what it watches")
	}
}

// Rooms that write to UDP sockets are listed with their reason; in every other
// room a hand-made packet would be a way round the governor.
func TestOnlyKnownRoomsOpenUDP(t *testing.T) {
	known := map[string]string{
		"dmx/sacn":   "the E1.31 wire",
		"loop/feed":  "listens for readings",
		"loop/stage": "the simulated stage listens for levels",
	}
	udp := regexp.MustCompile(`net\.(DialUDP|ListenUDP|ListenMulticastUDP|ListenPacket)\b|(Dial|Listen)[A-Za-z]*\([^)]*"udp`)
	for _, s := range sources(t) {
		if s.test || !udp.MatchString(s.text) {
			continue
		}
		if _, ok := known[filepath.ToSlash(filepath.Dir(s.path))]; !ok {
			t.Errorf("%s opens UDP; only %v may", s.path, known)
		}
	}
}

func TestEveryPackageHasOneDoc(t *testing.T) {
	docs := map[string][]string{}
	for _, s := range sources(t) {
		dir := filepath.Dir(s.path)
		if s.test {
			continue
		}
		docs[dir] = append(docs[dir], []string{}...)
		if s.file.Doc != nil {
			docs[dir] = append(docs[dir], s.path)
		}
	}
	for dir, files := range docs {
		if len(files) != 1 {
			t.Errorf("%s: %d package comments %v, want one", dir, len(files), files)
		}
	}
}

func TestNoAbsolutePathsOfAMachine(t *testing.T) {
	root := moduleRoot(t)
	bad := regexp.MustCompile(`/(home|root|Users|work)/[a-z]`)
	n := 0
	err := filepath.WalkDir(root, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (d.Name() == ".git" || d.Name() == "trueup-out") {
			return fs.SkipDir
		}
		switch filepath.Ext(p) {
		case ".go", ".md", ".yaml", ".yml", ".txt", ".json", ".csv", "":
		default:
			return nil
		}
		if d.IsDir() || strings.HasSuffix(p, "house_test.go") {
			return nil
		}
		b, err := os.ReadFile(p)
		if err != nil {
			return err
		}
		n++
		if m := bad.Find(b); m != nil {
			t.Errorf("%s holds %q: a path of somebody's machine", p, m)
		}
		return nil
	})
	if err != nil || n == 0 {
		t.Fatal(n, err)
	}
}

func TestTopLevelHoldsOnlyTheAgreedFolders(t *testing.T) {
	agreed := map[string]bool{"README.md": true, "DEVELOPERS.md": true, "go.mod": true, "go.sum": true, "LICENSE": true,
		"CHANGELOG.md": true, "CONTRIBUTING.md": true, "SECURITY.md": true, "NOTICE": true, thirdPartyFile: true, "staticcheck.conf": true, "cmd": true, "loop": true, "dmx": true, "profiles": true,
		"colorcalc": true, "safety": true, "testdata": true, "examples": true, "trueup-out": true}
	entries, err := os.ReadDir(moduleRoot(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if !agreed[e.Name()] && !strings.HasPrefix(e.Name(), ".") && e.Name() != "trueup" {
			t.Errorf("%s: not one of the agreed names at the top", e.Name())
		}
	}
}
