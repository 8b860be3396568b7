package stage

import "time"

// Ease is how a lamp fades by itself to what it is told.
type Ease uint8

// The ways of a fade; Kind.Response is its time.
const (
	EasesAll   Ease = iota // every emitter on an exponential, of which it is the time constant
	EasesLevel             // the light as a whole on such an exponential; its mix follows at once
	Glides                 // every emitter in a straight line, which takes so long from each new setting on
)

// ease lets the shares follow the aim for d.
func (p *Plant) ease(d time.Duration) {
	k := p.unit.kind
	if !(k.Response > 0) || !p.fading() {
		copy(p.share, p.aim)
		return
	}
	switch k.Ease {
	case EasesLevel:
		p.easeLevel(follow(d, k.Response))
	case Glides:
		part := 1.0
		if d < p.glides {
			part = d.Seconds() / p.glides.Seconds()
		}
		p.glides -= min(d, p.glides)
		p.approach(part)
	default:
		p.approach(follow(d, k.Response))
	}
}

// approach closes a part of the gap of each emitter.
func (p *Plant) approach(part float64) {
	for i := range p.share {
		p.share[i] += part * (p.aim[i] - p.share[i])
	}
}

// easeLevel closes a part of the gap of the sum; the emitters share it as they are asked to, or, on the way to the dark, as they did.
func (p *Plant) easeLevel(part float64) {
	is, wanted := sum(p.share), sum(p.aim)
	to := is + part*(wanted-is)
	mix := p.aim
	if !(wanted > 0) {
		mix, wanted = p.share, is
	}
	for i := range p.share {
		p.share[i] = max(0, to*mix[i]/wanted)
	}
}

func sum(all []float64) (s float64) {
	for _, x := range all {
		s += x
	}
	return s
}
