package main

import (
	"io"

	"trueup/cmd/trueup/report"
	"trueup/colorcalc"
	"trueup/colorcalc/quality"
)

// colourJSON is one colour for other programs; what is undefined is left out.
type colourJSON struct {
	Colour string   `json:"colour"`
	X      float64  `json:"x"`
	Y      float64  `json:"y"`
	U      float64  `json:"u_prime"`
	V      float64  `json:"v_prime"`
	Level  float64  `json:"level,omitempty"`
	CCT    *float64 `json:"cct_k,omitempty"`
	Duv    *float64 `json:"duv,omitempty"`
	// Against the first colour.
	Delta *float64 `json:"delta_uv_prime,omitempty"`
	Words string   `json:"words,omitempty"`

	Light    *lightJSON    `json:"light,omitempty"`
	Likeness *likenessJSON `json:"likeness,omitempty"` // with --against
}

// lightJSON is the quality of a light of known spectrum, not rounded.
type lightJSON struct {
	MissingNM float64   `json:"missing_nm"` // of 380-780 nm
	Ra        *float64  `json:"ra,omitempty"`
	R         []float64 `json:"r,omitempty"`
	RaDefined bool      `json:"ra_meaningful"`
	Rf        *float64  `json:"rf,omitempty"`
	Rg        *float64  `json:"rg,omitempty"`
	Qa        *float64  `json:"tlci_qa,omitempty"`
	SSI       *float64  `json:"ssi,omitempty"`
	SSIRef    string    `json:"ssi_reference,omitempty"`
}

func (o *colorOptions) writeJSON(w io.Writer, all []namedColour) error {
	out, err := o.coloursJSON(all)
	if err != nil {
		return err
	}
	return report.JSON(unfolded(w), out)
}

func (o *colorOptions) coloursJSON(all []namedColour) ([]colourJSON, error) {
	out := make([]colourJSON, len(all))
	for i, n := range all {
		uv := n.XY.UV()
		c := colourJSON{Colour: n.Text, X: n.XY.X, Y: n.XY.Y, U: uv.U, V: uv.V, Level: n.Y}
		if t, d, err := colorcalc.CCT(n.XY); err == nil {
			c.CCT, c.Duv = new(float64(t)), new(float64(d))
		}
		if i > 0 {
			c.Delta = new(uv.Dist(all[0].XY.UV()))
			c.Words = colorcalc.Describe(all[0].XY, n.XY)
		}
		if n.light != nil {
			l, err := o.lightJSON(n)
			if err != nil {
				return nil, err
			}
			c.Light = l
		}
		out[i] = c
	}
	return out, nil
}

func (o *colorOptions) lightJSON(n namedColour) (*lightJSON, error) {
	s := n.light.Spectrum
	l := &lightJSON{MissingNM: n.light.MissingNM}
	if r, err := quality.CRI(s); err == nil {
		l.Ra, l.R, l.RaDefined = new(r.Ra), r.R[:], r.Meaningful()
	}
	if f, err := quality.TM30(s); err == nil {
		l.Rf, l.Rg = new(f.Rf), new(f.Rg)
	}
	if t, err := quality.TLCI(s); err == nil {
		l.Qa = new(t.Qa)
	}
	ref, name, err := o.ssiReference(s)
	if err != nil {
		if o.reference != "" {
			return nil, err // the person named it; by itself there may be none
		}
		return l, nil
	}
	v, err := quality.SSI(s, ref)
	if err != nil {
		return nil, err
	}
	l.SSI, l.SSIRef = new(v), name
	return l, nil
}
