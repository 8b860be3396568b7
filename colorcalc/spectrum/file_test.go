package spectrum_test

import (
	"math"
	"strings"
	"testing"

	"trueup/colorcalc/spectrum"
)

const tm27 = `<?xml version="1.0" encoding="UTF-8"?>
<IESTM2714 xmlns="iestm2714" version="1.0">
 <Header><Description>an invented lamp</Description><DocumentCreator>someone</DocumentCreator><DocumentCreationDate>2024-05-01</DocumentCreationDate></Header>
 <SpectralDistribution><SpectralQuantity>irradiance</SpectralQuantity><BandwidthFWHM>2.0</BandwidthFWHM>
  <SpectralData wavelength="400">0.1</SpectralData><SpectralData wavelength="450">0.9</SpectralData>
  <SpectralData wavelength="500"> 0.4 </SpectralData><SpectralData wavelength="600">0.8</SpectralData>
  <SpectralData wavelength="700">0.2</SpectralData>
 </SpectralDistribution>
</IESTM2714>`

func TestTM27IsReadWithUnevenSpacing(t *testing.T) {
	for _, text := range []string{tm27, strings.Replace(tm27, ` xmlns="iestm2714"`, "", 1), strings.Replace(tm27, "iestm2714", "http://www.ies.org/iestm2714", 1), "\ufeff" + tm27} {
		fs, err := spectrum.Read(strings.NewReader(text))
		if err != nil {
			t.Fatal(err)
		}
		f := fs[0]
		if f.Name != "an invented lamp" || f.Quantity != "irradiance" || f.PeakNM != 450 || f.MissingNM != 100 {
			t.Errorf("%+v", f)
		}
		for nm, want := range map[float64]float64{400: .1, 450: .9, 475: .65, 550: .6, 700: .2, 399: 0, 701: 0} {
			if got := f.At(nm); !near(got, want, 1e-12) {
				t.Errorf("at %v nm: %v, want %v", nm, got, want)
			}
		}
	}
}

func TestHostileXMLIsRefused(t *testing.T) {
	cases := map[string]string{
		"entity":    `<!DOCTYPE x [<!ENTITY a "aaaa">]>` + tm27,
		"root":      "<svg></svg>",
		"deep":      strings.Repeat("<IESTM2714>", 40),
		"cut":       tm27[:300],
		"nan":       strings.Replace(tm27, "0.9", "NaN", 1),
		"negative":  strings.Replace(tm27, "0.9", "-0.9", 1),
		"double":    strings.Replace(tm27, `"450"`, `"400"`, 1),
		"no nm":     strings.Replace(tm27, `wavelength="450"`, "", 1),
		"far":       strings.Replace(tm27, `"700"`, `"7e9"`, 1),
		"text bomb": strings.Replace(tm27, "0.9", strings.Repeat("9", 100_000), 1),
		"empty":     "<IESTM2714/>",
		"encoding":  strings.Replace(tm27, "UTF-8", "UTF-7", 1),
	}
	for name, text := range cases {
		if _, err := spectrum.ReadTM27(strings.NewReader(text)); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}

func TestCSVIsReadAsPeopleWriteIt(t *testing.T) {
	for name, text := range map[string]string{
		"comma":         "# a lamp\nnm,one,two\n400,1,2\n500,2,3\n600,3,4\n700,2,3\n780,1,2\n",
		"decimal comma": "nm;one;two\r\n400;1,0;2,0\r\n500;2,0;3,0\r\n600;3;4\r\n700;2;3\r\n780;1;2\r\n",
		"tab":           "400\t1\t2\n500\t2\t3\n600\t3\t4\n700\t2\t3\n780\t1\t2",
		"spaces":        "\n400  1 2\n500  2 3\n600  3 4\n700 2 3\n\n780 1 2\n",
	} {
		fs, err := spectrum.Read(strings.NewReader(text))
		if err != nil || len(fs) != 2 {
			t.Errorf("%s: %v, %v", name, fs, err)
			continue
		}
		if !near(fs[1].At(550), 3.5, 1e-12) || fs[0].MissingNM != 20 {
			t.Errorf("%s: %v, missing %v", name, fs[1].At(550), fs[0].MissingNM)
		}
	}
}

func TestBadCSVNamesTheLine(t *testing.T) {
	for text, want := range map[string]string{
		"nm,a\n400,1\n390,2\n":                 "line 3",
		"400,1\n500,x\n":                       "line 2",
		"400,1\n500,1,2\n":                     "line 2",
		"400,1\nfoo,1\n":                       "line 2",
		"400\n500\n":                           "line 1",
		"hello":                                "no rows",
		"400,1\n500,1\n600,NaN\n":              "line 3",
		"0.4,1\n0.5,1\n0.6,1\n0.7,1\n0.78,1\n": "nanometres",
		"400,1\n500,1\n":                       "at least",
		"400,0\n500,0\n600,0\n700,0\n780,0\n":  "above zero",
		"400,1\n500,-1\n600,1\n700,1\n780,1\n": "negative",
	} {
		if _, err := spectrum.Read(strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add(tm27)                                        // a file as it should be
	f.Add("nm,a,b\n400,1,2\n500,2,3\n600,1,1\n")       // CSV with names
	f.Add("400;1,5\n500;2,5")                          // decimal comma
	f.Add("1e308,1e308\n1.1e308,1\n")                  // overflow of the grid
	f.Add("400,1\n400.0000000001,2\n3000,1\n3000.0,1") // steps far apart in size
	f.Add("<!DOCTYPE a><IESTM2714/>")                  // document type
	f.Fuzz(func(t *testing.T, text string) {
		fs, err := spectrum.Read(strings.NewReader(text))
		if err != nil {
			return
		}
		for _, s := range fs {
			if err := s.Check(); err != nil {
				t.Errorf("accepted: %v", err)
			}
			c := s.XYZ(spectrum.Deg2)
			if math.IsNaN(c.X) || math.IsNaN(s.Resample(spectrum.Visible5).Power()) {
				t.Errorf("not a number from %q", text)
			}
		}
	})
}
