package solve

import "fmt"

// exchangedParameters is the story of a head whose colour is given by two parameters, that they have each other's slots; none where there is but one. Where it is believed the
// match goes by it: which of the two is which leaves nothing open, as it does with emitters.
func exchangedParameters(s *Spec) []rival {
	out, a, b := *s, 0, 0
	switch {
	case s.Kind == XY:
		c := *s.XY
		a, b, c.X, c.Y, out.XY = c.X, c.Y, c.Y, c.X, &c
	case s.Kind == HueSat:
		c := *s.HueSat
		a, b, c.Hue, c.Sat, out.HueSat = c.Hue, c.Sat, c.Sat, c.Hue, &c
	case s.Kind == CCT && s.CCT.Tint >= 0:
		c := *s.CCT
		a, b, c.Channel, c.Tint, out.CCT = c.Channel, c.Tint, c.Tint, c.Channel, &c
	default:
		return nil
	}
	return []rival{{name: parametersName, cause: Exchanged, spec: out,
		why: fmt.Sprintf("%s and %s look swapped: the light responds as if each had the other's slot (wrong mode or wrong order in the profile)", s.Channels[a].Name, s.Channels[b].Name)}}
}
