package main

import (
	"bytes"
	"io"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"
	"unicode"

	"trueup/loop/session/rig"
	"trueup/profiles/mvr/mvrtest"
)

// 300 plans that were damaged are imported as a person would import them: in the
// scene's text, in what stands between two of its tags, in a GDTF description and
// in the archive's bytes. Each gives a rig that passes check, or says in plain
// lines why not and leaves no rig that would; and none takes much memory.
func TestDamagedPlansGiveGoodRigsOrClearErrors(t *testing.T) {
	quietMachine(t)
	rng := rand.New(rand.NewPCG(15801, 300))
	plans := mvrtest.Plans()
	names := slices.Sorted(maps.Keys(plans))
	dir := t.TempDir()
	good, refused := 0, 0
	all := 300
	if testing.Short() {
		all = 75 // three and more of each kind of damage to each plan
	}
	for i := range all {
		name := names[i%len(names)]
		if name == "large" && i%3 > 0 { // 400 fixtures take their time
			name = "nested"
		}
		data := damagedPlan(rng, i/len(names)%4, plans[name])
		sub := filepath.Join(dir, name)
		if err := os.MkdirAll(sub, 0o755); err != nil {
			t.Fatal(err)
		}
		src, dst := filepath.Join(sub, "plan.mvr"), filepath.Join(sub, "rig.yaml")
		if err := os.WriteFile(src, data, 0o644); err != nil {
			t.Fatal(err)
		}
		var out, errs bytes.Buffer
		before := allocated()
		code := run([]string{"rig", "import", src, "-o", dst}, nil, &out, &errs)
		if grew := allocated() - before; grew > 400<<20 {
			t.Errorf("plan %d (%s): %d MB were asked for in all", i, name, grew>>20)
		}
		_, err := os.Stat(dst)
		switch {
		case code == exitLanded:
			good++
			r, err := rig.Load(dst)
			if err == nil {
				err = checkPlan(r)
			}
			if err != nil {
				t.Errorf("plan %d (%s): called faultless, and check says: %v", i, name, err)
			}
		case code != exitNotAll:
			t.Errorf("plan %d (%s): exit code %d", i, name, code)
		case err == nil: // written for a person's hand: check must say so too
			r, err := rig.Load(dst)
			if err == nil {
				err = checkPlan(r)
			}
			if err == nil {
				t.Errorf("plan %d (%s): %s%s, and check has nothing to say", i, name, out.String(), errs.String())
			}
		default:
			refused++
			clearError(t, i, errs.String())
		}
		if err := os.RemoveAll(sub); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d rigs without faults, %d plans refused", good, refused)
	if good < all/5 || refused < all/5 {
		t.Errorf("%d rigs and %d errors of %d: the damage is too great or too small to tell", good, refused, all)
	}
}

func allocated() uint64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.TotalAlloc
}

// clearError asks that a refusal names the file, in lines that a terminal can
// show, and speaks of the plan and not of the program.
func clearError(t *testing.T, i int, text string) {
	t.Helper()
	printable := func(r rune) bool { return r == '\n' || unicode.IsPrint(r) }
	inner := regexp.MustCompile(`goroutine|panic|\bEOF\b|0x[0-9a-f]{4}|<nil>|%!`)
	switch {
	case !strings.Contains(text, "error: ") || !strings.Contains(text, "plan.mvr"):
		t.Errorf("plan %d: %q names no error and no file", i, text)
	case strings.ContainsFunc(text, func(r rune) bool { return !printable(r) }):
		t.Errorf("plan %d: %q is not all printable", i, text)
	case inner.MatchString(text) || len(text) > 6000:
		t.Errorf("plan %d: %q", i, text)
	}
}

var between = regexp.MustCompile(`>[^<>\n]+<|="[^"\n]*"`)

// damagedPlan damages a plan in one of four ways. The entries stay as they are.
func damagedPlan(rng *rand.Rand, way int, entries []mvrtest.Entry) []byte {
	entries = slices.Clone(entries)
	gdtf := 1 + rng.IntN(len(entries)-1)
	switch way {
	case 0:
		entries[0].Data = damagePiece(rng, entries[0].Data)
	case 1: // a value of the scene becomes another one of it, or nonsense
		all := between.FindAllIndex(entries[0].Data, -1)
		at := all[rng.IntN(len(all))]
		other := all[rng.IntN(len(all))]
		text := entries[0].Data[other[0]:other[1]]
		text = bytes.Trim(text, `>=<"`)
		if odd := []string{"", "0", "-1", "1e9", "99999.99999", "\u202e", strings.Repeat("x", 3000)}; rng.IntN(2) == 0 {
			text = []byte(odd[rng.IntN(len(odd))])
		}
		was := entries[0].Data[at[0]:at[1]]
		head, tail := was[:1], was[len(was)-1:]
		if was[0] == '=' {
			head = was[:2]
		}
		entries[0].Data = slices.Concat(entries[0].Data[:at[0]], head, text, tail, entries[0].Data[at[1]:])
	case 2:
		entries[gdtf].Data = damagePiece(rng, entries[gdtf].Data)
	default:
		return damagePiece(rng, mvrtest.Pack(entries...))
	}
	return mvrtest.Pack(entries...)
}

// damagePiece cuts, doubles or overwrites a piece.
func damagePiece(rng *rand.Rand, data []byte) []byte {
	at := rng.IntN(len(data))
	n := min(1+rng.IntN(40), len(data)-at)
	var piece []byte
	switch rng.IntN(3) {
	case 0:
	case 1:
		piece = slices.Concat(data[at:at+n], data[at:at+n])
	default:
		piece = make([]byte, n)
		_, _ = io.ReadFull(rand.NewChaCha8([32]byte{byte(at), byte(n)}), piece)
	}
	return slices.Concat(data[:at], piece, data[at+n:])
}
