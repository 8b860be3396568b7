package profiles

import "fmt"

// Params lists the parameters of a head in the order in which codes stand in
// Encode and Decode: emitters; or colour temperature and tint; or x and y; or
// hue and saturation; the dimmer last.
func (m *Mode) Params() []*Param {
	var all []*Param
	for i := range m.Emitters {
		all = append(all, &m.Emitters[i].Param)
	}
	if m.CCT != nil {
		all = append(all, &m.CCT.Param)
	}
	if m.Tint != nil {
		all = append(all, &m.Tint.Param)
	}
	for _, s := range []*ScaleParam{m.X, m.Y, m.Hue, m.Sat} {
		if s != nil {
			all = append(all, &s.Param)
		}
	}
	if m.Dimmer != nil {
		all = append(all, m.Dimmer)
	}
	return all
}

// HeadSlots gives the slots of a parameter for a head (from 0), coarse first,
// as offsets into the footprint from 1.
func (m *Mode) HeadSlots(p *Param, head int) []int {
	if p.Common {
		head = 0
	}
	return m.shift(p.Slots, head)
}

func (m *Mode) shift(slots []int, head int) []int {
	out := make([]int, len(slots))
	for i, s := range slots {
		out[i] = s + head*m.Heads.Stride
	}
	return out
}

// Encode writes the codes of a head (from 0), in the order of Params, into the
// slots of a fixture: dst[0] is the footprint's first slot, and dst has at
// least Footprint bytes. Every byte of a code is written, coarse and fine, and
// no other slot is touched. Codes outside of a parameter's Lo..Hi are refused.
func (m *Mode) Encode(head int, codes []uint32, dst []byte) error {
	params := m.Params()
	if err := m.checkHead(head, len(dst)); err != nil {
		return err
	}
	if len(codes) != len(params) {
		return fmt.Errorf("mode %q has %d parameters, not %d", m.Name, len(params), len(codes))
	}
	for i, p := range params {
		if codes[i] < p.Lo || codes[i] > p.Hi {
			return fmt.Errorf("%s: code %d is outside %d..%d", p.Name, codes[i], p.Lo, p.Hi)
		}
	}
	for i, p := range params {
		put(dst, m.HeadSlots(p, head), codes[i])
	}
	return nil
}

// Decode reads the codes of a head back from a fixture's slots, in the order
// of Params. Codes are as they stand, also outside of Lo..Hi.
func (m *Mode) Decode(head int, src []byte) ([]uint32, error) {
	if err := m.checkHead(head, len(src)); err != nil {
		return nil, err
	}
	params := m.Params()
	codes := make([]uint32, len(params))
	for i, p := range params {
		codes[i] = get(src, m.HeadSlots(p, head))
	}
	return codes, nil
}

// Rest writes what stands in the footprint beside the parameters: pins at
// their levels and never-touched slots at their safe levels, for all heads.
func (m *Mode) Rest(dst []byte) error {
	if err := m.checkHead(0, len(dst)); err != nil {
		return err
	}
	for _, p := range m.Pins {
		for head := range m.repeats(p.EachHead) {
			put(dst, m.shift(p.Slots, head), p.Level)
		}
	}
	for _, n := range m.Never {
		for head := range m.repeats(n.EachHead) {
			for _, s := range m.shift(n.Slots, head) {
				dst[s-1] = n.Safe
			}
		}
	}
	return nil
}

func (m *Mode) repeats(each bool) int {
	if each {
		return m.Heads.Count
	}
	return 1
}

func (m *Mode) checkHead(head, slots int) error {
	if head < 0 || head >= m.Heads.Count {
		return fmt.Errorf("mode %q has heads 0 to %d, not %d", m.Name, m.Heads.Count-1, head)
	}
	if slots < m.Footprint {
		return fmt.Errorf("mode %q takes %d slots, there are %d", m.Name, m.Footprint, slots)
	}
	return nil
}

func put(dst []byte, slots []int, code uint32) {
	for i, s := range slots {
		dst[s-1] = byte(code >> (8 * (len(slots) - 1 - i)))
	}
}

func get(src []byte, slots []int) uint32 {
	var code uint32
	for _, s := range slots {
		code = code<<8 | uint32(src[s-1])
	}
	return code
}
