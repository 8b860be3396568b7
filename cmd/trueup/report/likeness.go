package report

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strings"

	"trueup/colorcalc"
	"trueup/colorcalc/quality"
	"trueup/colorcalc/spectrum"
	"trueup/loop/session"
	"trueup/loop/session/core"
	"trueup/loop/solve"
)

// likenessPart is what a report tells of cameras and eyes.
type likenessPart struct {
	Words     []string
	Prices    []likenessPrice
	Reference string
	Camera    string // of the rig; "" where none was described
	Pairs     []likenessPair
	Spectra   template.HTML
}

// likenessPrice is the price of likeness for lamps of one type.
type likenessPrice struct {
	Fixtures, Figure string
	Rows             []struct{ Mix, Level, Value string }
}

// likenessPair is one lamp beside the reference. Known says whether a spectrometer measured it.
type likenessPair struct {
	Name, Known, Mean, Worst, White, Skin, White10, Camera, TLMF, SSI string
	Patches                                                           template.HTML
}

// likenessOf is nil where nobody asked and no spectrum was read: by chromaticity alone nothing is claimed.
func likenessOf(s *session.Summary) *likenessPart {
	p := &likenessPart{}
	for i := range s.Spending {
		p.price(&s.Spending[i])
	}
	if s.Light != nil && s.Reference != nil {
		p.Reference = s.Reference.Name
		p.pairs(s)
	}
	if len(p.Prices) == 0 && len(p.Pairs) == 0 && len(p.Words) == 0 {
		return nil
	}
	p.predictions(s)
	return p
}

func (p *likenessPart) price(s *core.Spending) {
	if s.Price == nil {
		p.Words = append(p.Words, strings.Join(s.Fixtures, ", ")+": "+s.Note+".")
		return
	}
	t := likenessPrice{Fixtures: strings.Join(s.Fixtures, ", "), Figure: "mean difference"}
	if s.Wish == solve.Rendering {
		t.Figure = "Rf"
	}
	for _, r := range s.Price.Rows {
		mix := fmt.Sprintf("most alike, %.0f %% kept", 100*r.Floor)
		if r.Floor == 1 {
			mix = "most light"
		}
		t.Rows = append(t.Rows, struct{ Mix, Level, Value string }{mix, fmt.Sprintf("%.0f %%", 100*r.Level), s.Figure(r.Means)})
	}
	p.Prices = append(p.Prices, t)
	words := fmt.Sprintf("The fixtures were asked to look like %s, seen by %s, and to keep %.0f %% of the most light.", s.Reference, s.Seen, 100*s.Floor)
	if len(p.Words) == 0 || p.Words[0] != words {
		p.Words = append(p.Words, words)
	}
	if s.Note != "" {
		p.Words = append(p.Words, strings.ToUpper(s.Note[:1])+s.Note[1:]+".")
	}
}

// predictions are for lamps that no spectrometer read.
func (p *likenessPart) predictions(s *session.Summary) {
	for _, f := range s.Fixtures {
		o := f.Final()
		if o == nil || o.Likeness == nil || f.Light != nil && s.Light != nil {
			continue
		}
		p.Words = append(p.Words, fmt.Sprintf("%s: predicted to differ by %.1f in the mean where it stands, %.1f with the most light. No spectrum was read of it.", f.Name, o.Likeness.Now, o.Likeness.Brightest))
	}
}

// camera is the rig's camera; nil: none was described.
func camera(s *session.Summary) (*quality.Camera, string) {
	if s.Info.Core == nil || s.Info.Core.Plan.Spend.Camera == nil {
		return nil, ""
	}
	k := s.Info.Core.Plan.Spend.Camera
	var c [3]spectrum.Spectrum
	for i, ch := range k.Channels {
		if ch == nil {
			return nil, ""
		}
		c[i] = ch.Spectrum()
	}
	cam, err := quality.NewCamera(c)
	if err != nil {
		return nil, ""
	}
	return cam, k.Name
}

func (p *likenessPart) pairs(s *session.Summary) {
	cam, name := camera(s)
	p.Camera = name
	de := func(v float64) string { return fmt.Sprintf("%.1f", v) }
	var lit []session.FixtureSummary
	for _, f := range s.Fixtures {
		if f.Light == nil || s.IsReference(f) {
			continue
		}
		l, err := quality.Compare(*f.Light, *s.Light, cam)
		if err != nil {
			continue
		}
		q := likenessPair{Name: f.Name, Known: "measured", Mean: de(l.Deg2.Mean), Worst: fmt.Sprintf("%s (CES%02d)", de(l.Deg2.Max), l.Deg2.Worst), White: de(l.Deg2.White),
			Skin: de(l.Deg2.Skin), White10: de(l.Deg10.White), TLMF: fmt.Sprintf("%.0f", l.TLMF.Q), SSI: fmt.Sprint(quality.RoundSSI(l.SSI)), Patches: patches(*f.Light, *s.Light, l.Deg2.Worst)}
		if l.Camera != nil {
			q.Camera = fmt.Sprintf("%s (worst %s, skin %s)", de(l.Camera.Mean), de(l.Camera.Max), de(l.Camera.Skin))
		}
		p.Pairs, lit = append(p.Pairs, q), append(lit, f)
	}
	if len(p.Pairs) == 0 {
		return
	}
	seen := "No camera was described; another camera sees other differences."
	if cam != nil {
		seen = "The column of your camera is its mean, its worst sample and skin."
	}
	p.Words = append(p.Words, fmt.Sprintf("Differences are CIEDE2000 over the 99 samples of CIE 224 to the eye of 2 degrees, all balanced on %s; the other way round they are others. %s About 1 is just seen side by side. "+
		"White is a white card, skin light to medium skin (CES15 and CES18); white, 10° is the card to an eye that sees a large field. TLMF (EBU Tech 3355, a standard camera) and SSI (the spectrum itself) reach 100 where nothing differs.", p.Reference, seen))
	p.Spectra = overlaid(s, lit)
}

// patches are a sample under both lights, the reference's on the left, as a screen can show them: approximate.
func patches(test, ref spectrum.Spectrum, sample int) template.HTML {
	t, r, white, err := quality.Patches(test, ref, sample)
	if err != nil {
		return ""
	}
	// Scaled per X, Y, Z from the reference's white to that of the screen, D65.
	d65 := colorcalc.XY{X: 0.3127, Y: 0.3290}.UV().XYZ(1)
	onScreen := func(c colorcalc.XYZ) string {
		return hexOf(colorcalc.XYZ{X: c.X * d65.X / white.X, Y: c.Y, Z: c.Z * d65.Z / white.Z})
	}
	return template.HTML(fmt.Sprintf(`<svg width="44" height="18" role="img" aria-label="CES%02d under both lights"><rect width="22" height="18" fill="%s"/><rect x="22" width="22" height="18" fill="%s"/></svg>`, sample, onScreen(r), onScreen(t)))
}

// hexOf is a colour as IEC 61966-2-1 has it, cut off at the ends.
func hexOf(c colorcalc.XYZ) string {
	rgb := colorcalc.SRGB.RGB(c)
	out := "#"
	for _, v := range [3]float64{rgb.R, rgb.G, rgb.B} {
		out += fmt.Sprintf("%02x", int(math.Round(255*colorcalc.SRGB.Encode(min(max(v, 0), 1)))))
	}
	return out
}

// maxOverlaid spectra are drawn over each other; more could not be told apart.
const maxOverlaid = 8

var overlaidInks = [maxOverlaid]string{"#1c1b19", "#a33b2b", "#2f6f4f", "#2b5fa3", "#8a6d1f", "#6a3d8f", "#2a8a94", "#b0567e"}

// overlaid draws the spectra at the same level.
func overlaid(s *session.Summary, lit []session.FixtureSummary) template.HTML {
	const w, h, left, top = 640.0, 220.0, 30.0, 10.0
	lit = lit[:min(len(lit), maxOverlaid)]
	level := func(l *spectrum.Spectrum) []float64 {
		return l.Resample(spectrum.Visible5).Scale(1 / l.XYZ(spectrum.Deg2).Y).Values
	}
	curves := [][]float64{level(s.Light)}
	for _, f := range lit {
		curves = append(curves, level(f.Light))
	}
	most := 0.0
	for _, c := range curves {
		for _, v := range c {
			most = max(most, v)
		}
	}
	var b strings.Builder
	fmt.Fprintf(&b, `<svg viewBox="0 0 %.0f %.0f" width="%.0f" role="img" aria-label="spectra of the fixtures over that of the reference" font-family="Georgia, serif" font-size="11">`, w+150, h+34, w+150)
	x := func(i int) float64 { return left + (w-left)*float64(i)/80 }
	for nm := 400; nm <= 750; nm += 50 {
		at := x((nm - 380) / 5)
		fmt.Fprintf(&b, `<line x1="%.1f" x2="%.1f" y1="%.0f" y2="%.0f" stroke="#d8d3c8"/><text x="%.1f" y="%.0f" text-anchor="middle" fill="#625d55">%d nm</text>`, at, at, top, top+h, at, top+h+16, nm)
	}
	for k, c := range curves {
		var path []string
		for i, v := range c {
			path = append(path, fmt.Sprintf("%.1f,%.1f", x(i), top+h-h*max(v, 0)/most))
		}
		ink, wide, name := "#b9b3a6", 5.0, s.Reference.Name
		if k > 0 {
			ink, wide, name = overlaidInks[k-1], 1.4, lit[k-1].Name
		}
		fmt.Fprintf(&b, `<polyline points="%s" fill="none" stroke="%s" stroke-width="%g"/>`, strings.Join(path, " "), ink, wide)
		fmt.Fprintf(&b, `<line x1="%.0f" x2="%.0f" y1="%.0f" y2="%.0f" stroke="%s" stroke-width="%g"/><text x="%.0f" y="%.0f">%s</text>`,
			w+8, w+26, top+8+16*float64(k), top+8+16*float64(k), ink, wide, w+32, top+12+16*float64(k), html.EscapeString(name))
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String())
}
