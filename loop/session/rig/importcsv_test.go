package rig

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"trueup/profiles/yamlfile"
)

// Patch lists come with any headings, three separators, two ways of writing an
// address, and rows of lamps that have none.
func TestPatchListsAreImported(t *testing.T) {
	want := "Key L|1/101|wash|16 bit|1;Key R|2/12|wash|16 bit|2;Practical|0/0|knob||;"
	for _, c := range []struct{ name, text, mapping string }{
		{"commas", "What,Where,Sort,Setup,Desk\nKey L,1/101,wash,16 bit,1\nKey R,2/12,wash,16 bit,2\n\nPractical,,knob,,\n",
			"name=What,address=Where,profile=Sort,mode=Setup,desk_channel=Desk"},
		{"semicolons, a byte order mark, dots", "\uFEFFDesk;What;Where;Sort;Setup\r\n1;\"Key L\";1.101;wash;16 bit\r\n2;Key R; 2:12;wash;16 bit\r\n;Practical;;knob;\r\n",
			"name=What, address=Where, profile=Sort, mode=Setup, desk_channel=Desk"},
		{"tabs, two columns, column numbers", "Net\tSlot\tWhat\tSort\tSetup\tDesk\n1\t101\tKey L\twash\t16 bit\t1\n2\t12\tKey R\twash\t16 bit\t2\n\t\tPractical\tknob\t\t\n",
			"universe=1,slot=2,name=What,profile=4,mode=Setup,desk_channel=6"},
		{"our own headings", "Name,Address,Profile,Mode,Desk Channel,Weight\nKey L,1/101,wash,16 bit,1,7\nKey R,2/12,wash,16 bit,2,7\nPractical,,knob,,,\n", ""},
	} {
		m, err := ParseMapping(c.mapping)
		if c.mapping == "" {
			heads, herr := Headings("p.csv", []byte(c.text))
			m, err = MapByHeadings(heads), herr
		}
		if err != nil {
			t.Fatal(err)
		}
		fs, err := ImportCSV("p.csv", []byte(c.text), m)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		got := ""
		for _, f := range fs {
			got += fmt.Sprintf("%s|%s|%s|%s|%s;", f.Name, f.Address, f.Profile, f.Mode, f.DeskChannel)
		}
		if got != want || !fs[2].ByHand || fs[0].ByHand {
			t.Errorf("%s: %s\nwant %s", c.name, got, want)
		}
	}
}

func TestEveryBadRowIsNamed(t *testing.T) {
	m, err := ParseMapping("name=N,address=A")
	if err != nil {
		t.Fatal(err)
	}
	_, err = ImportCSV("p.csv", []byte("A,N\n1/1,a\n0/1,b\n1/600,c\n1/2,a\n1/3,\n1/4,x 1..3\n"), m)
	var all yamlfile.Errors
	if !errors.As(err, &all) || len(all) != 5 {
		t.Fatalf("want five errors, got %v", err)
	}
	for i, want := range []string{"p.csv:3:1: address \"0/1\"", "p.csv:4:1: address \"1/600\"", `p.csv:5:5: the name "a" stands already in line 2`, "p.csv:6:5: a name is missing", "p.csv:7:5: the name \"x 1..3\" holds two dots"} {
		if !strings.HasPrefix(all[i].Error(), want) {
			t.Errorf("error %d: %v, want %s", i, all[i], want)
		}
	}
	for text, gist := range map[string]string{"": "want field=column", "name": "want field=column", "nme=A": `did you mean "name"?`, "address=A": "name=What",
		"name=A,name=B": "twice", "name=A,universe=U": "both universe= and slot=", "name=A,address=B,universe=C,slot=D": "both universe= and slot="} {
		if m, err := ParseMapping(text); err == nil || !strings.Contains(err.Error(), gist) {
			t.Errorf("%q: %v, error %v, want %q in it", text, m, err, gist)
		}
	}
	if _, err := ImportCSV("p.csv", []byte("Sort,A\nx,1/1\n"), map[string]string{"name": "Srot"}); err == nil || !strings.Contains(err.Error(), `did you mean "Sort"?`) {
		t.Errorf("a misspelt heading: %v", err)
	}
	for _, text := range []string{"", "\n\n", "N\n"} {
		if fs, err := ImportCSV("p.csv", []byte(text), map[string]string{"name": "N"}); err == nil {
			t.Errorf("%q gave %v", text, fs)
		}
	}
}

// No patch list makes the reading panic, and whatever comes out can stand in a
// rig file.
func FuzzImportCSV(f *testing.F) {
	f.Add("What,Where\na,1/1\n")                 // plain
	f.Add("What;Where\r\n\"a;b\";2.512\r\n;;\n") // quotes, an empty row
	f.Add("What\tWhere\n\"never closed\t1/1\n")  // a quote that never ends
	f.Add("\uFEFFWhat,Where,What\n,,\n")         // a heading twice
	f.Add("What,Where\na\n")                     // a short row
	f.Fuzz(func(t *testing.T, text string) {
		fs, err := ImportCSV("p.csv", []byte(text), map[string]string{"name": "What", "address": "Where"})
		if err != nil {
			return
		}
		seen := map[string]bool{}
		for _, x := range fs {
			if checkName(x.Name) != nil || seen[x.Name] || x.Address.Valid() == x.ByHand {
				t.Errorf("%+v came out of %q", x, text)
			}
			seen[x.Name] = true
		}
	})
}
