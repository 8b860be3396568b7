package report

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"trueup/dmx"
	"trueup/loop/session"
	"trueup/loop/solve"
)

// CutShort is said of a fixture that a match has set, and not read there.
const CutShort = "the run was cut short before it was read where the match had set it (trueup resume)"

// CueOptions say how a matched look becomes a cue of a desk.
type CueOptions struct {
	Cue string // its number, such as 901 or 12.5; it should be free in the show
	// Up and Down are the fade times, in seconds.
	Up, Down float64
	// ByAddress takes for a slot the desk channel of its own address: slot s of
	// universe n is channel 512 (n - 1) + s. Otherwise a fixture's desk channel in the
	// rig file is that of its first slot, and its other slots follow.
	ByAddress bool
}

// cueNumber is a number as the standard writes it.
var cueNumber = regexp.MustCompile(`^[0-9]{1,6}(\.[0-9]{1,3})?$`)

// maxFade bounds a fade time, in seconds.
const maxFade = 3600

// cueLine is the longest line of the standard.
const cueLine = 80

// Cue writes the look that a run left as one cue, in the USITT ASCII text
// representation for lighting console data 3.0 (1992). Levels are hex, for percent
// would lose a matched setting; a fine slot is a channel of its own. The text holds no
// CLEAR, which would empty the show it is loaded into. Left are the fixtures that
// have no place in it, each with the reason.
func Cue(s *session.Summary, o CueOptions) (text []byte, left []string, err error) {
	if err := o.Check(); err != nil {
		return nil, nil, err
	}
	levels, comments, left, err := cueLevels(s, o.ByAddress)
	if err != nil {
		return nil, left, err
	}
	if len(levels) == 0 {
		return nil, left, errors.New("no cue: no fixture of the run has a matched setting and a desk channel" + reasons(left))
	}
	w := &cueWriter{}
	w.line("IDENT 3:0")
	w.line("MANUFACTURER trueup")
	w.line("CONSOLE none")
	w.comment(fmt.Sprintf("rig %s, matched to %s, %s", s.Info.Rig, s.Info.Target, s.Started.Format("2006-01-02 15:04")))
	w.comment("A cue changes the light when the desk plays it.")
	for _, c := range comments {
		w.comment(c)
	}
	for _, l := range left {
		w.comment("not in this cue: " + l)
	}
	w.line("CUE " + o.Cue)
	w.line(cut("TEXT matched "+plainASCII(s.Info.Target), cueLine))
	w.line("UP " + strconv.FormatFloat(o.Up, 'f', -1, 64))
	w.line("DOWN " + strconv.FormatFloat(o.Down, 'f', -1, 64))
	w.levels(levels)
	w.line("ENDDATA")
	return w.b.Bytes(), left, nil
}

// Check tells what no cue can have.
func (o CueOptions) Check() error {
	switch {
	case !cueNumber.MatchString(o.Cue):
		return fmt.Errorf("cue %q: want a number that is free in the show, such as 901 or 12.5", o.Cue)
	case !(o.Up >= 0 && o.Up <= maxFade && o.Down >= 0 && o.Down <= maxFade):
		return fmt.Errorf("fade times %g and %g: want 0 to %d seconds", o.Up, o.Down, maxFade)
	}
	return nil
}

func reasons(left []string) string {
	if len(left) == 0 {
		return ""
	}
	return " (" + strings.Join(left, "; ") + ")"
}

// A cueLevel is one channel of the desk.
type cueLevel struct {
	channel int
	value   uint8
}

// cueLevels says which channel stands where, in the order of the channels. What is not of
// this run has no level.
func cueLevels(s *session.Summary, byAddress bool) (levels []cueLevel, comments, left []string, err error) {
	type owner struct {
		at   dmx.Address
		name string
	}
	owners := map[int]owner{}
	for _, f := range s.Fixtures {
		o := f.Final()
		result := ""
		if o != nil {
			result = o.Result.String()
		}
		if f.Lit != nil && s.IsReference(f) { // the others were matched to it as it is lit so
			o, result = referenceOutcome(s, &f), asReference
		}
		switch {
		case f.Fixed || s.IsReference(f) && f.Lit == nil:
			continue
		case f.ByHand:
			left = append(left, f.Name+": it is set by hand")
			continue
		case o != nil && o.Result == solve.Predicted:
			left = append(left, f.Name+": "+CutShort)
			continue
		case o == nil || o.Final == nil || o.After == nil || len(o.After.Slots) == 0:
			left = append(left, f.Name+": it was not matched")
			continue
		}
		channelOf, err := channels(f, byAddress)
		if err != nil {
			left = append(left, f.Name+": "+err.Error())
			continue
		}
		first, last := 0, 0
		for i, v := range o.After.Slots {
			at := slotOf(v)
			ch := channelOf(at)
			if i == 0 {
				first = ch
			}
			last = ch
			have, taken := owners[ch]
			switch {
			case !taken:
				owners[ch] = owner{at, f.Name}
				levels = append(levels, cueLevel{ch, v.Value})
			case have.at != at:
				return nil, nil, left, fmt.Errorf("desk channel %d is both slot %v of %s and slot %v of %s: give each fixture room for all its slots in the rig file (desk_channel:, in a range desk_step:), or count channels by address (--by-address)",
					ch, have.at, have.name, at, f.Name)
			}
		}
		comments = append(comments, fmt.Sprintf("%s: channels %d-%d are its slots from %s on; %s", f.Name, first, last, slotOf(o.After.Slots[0]), result))
	}
	slices.SortFunc(levels, func(a, b cueLevel) int { return a.channel - b.channel })
	return levels, comments, left, nil
}

// channels gives the desk channel of each slot of a fixture.
func channels(f session.FixtureSummary, byAddress bool) (func(dmx.Address) int, error) {
	if byAddress {
		return func(a dmx.Address) int { return (int(a.Universe)-1)*dmx.SlotsPerUniverse + int(a.Slot) }, nil
	}
	if f.DeskChannel == "" {
		return nil, errors.New("it has no desk_channel in the rig file: add one and match again, or count channels by address (--by-address)")
	}
	base, err := strconv.Atoi(f.DeskChannel)
	if err != nil || base < 1 || base > 1_000_000 {
		return nil, fmt.Errorf("its desk channel %q is no number", f.DeskChannel)
	}
	start, err := dmx.ParseAddress(f.Address)
	if err != nil {
		return nil, err
	}
	return func(a dmx.Address) int { return base + int(a.Slot) - int(start.Slot) }, nil
}

// cueWriter keeps to the lines of the standard: ASCII, at most 80 characters.
type cueWriter struct{ b bytes.Buffer }

func (w *cueWriter) line(text string) { w.b.WriteString(text + "\r\n") }

// comment writes a text of any length, folded at blanks.
func (w *cueWriter) comment(text string) {
	line := "!"
	for _, word := range strings.Fields(plainASCII(text)) {
		if len(line)+1+len(word) > cueLine && line != "!" {
			w.line(line)
			line = "!"
		}
		line = cut(line+" "+word, cueLine)
	}
	w.line(line)
}

func (w *cueWriter) levels(all []cueLevel) {
	line := "CHAN"
	for _, l := range all {
		pair := fmt.Sprintf(" %d@H%02X", l.channel, l.value)
		if len(line)+len(pair) > cueLine {
			w.line(line)
			line = "CHAN"
		}
		line += pair
	}
	w.line(line)
}

func cut(text string, most int) string { return text[:min(len(text), most)] }

// plainASCII writes a text in ASCII. What has no letter there becomes a question mark, and
// an exclamation mark, which begins a comment, a full stop.
func plainASCII(text string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '!':
			return '.'
		case unicode.IsSpace(r):
			return ' '
		case r < ' ' || r > '~':
			return '?'
		}
		return r
	}, latin.Replace(text))
}

// latin spells the letters of western European names, and the signs that our own words hold.
var latin = strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue", "Ä", "Ae", "Ö", "Oe", "Ü", "Ue", "ß", "ss", "æ", "ae", "Æ", "Ae", "ø", "o", "Ø", "O",
	"å", "a", "Å", "A", "é", "e", "è", "e", "ê", "e", "ë", "e", "É", "E", "á", "a", "à", "a", "â", "a", "ã", "a", "í", "i", "ì", "i", "î", "i", "ï", "i",
	"ó", "o", "ò", "o", "ô", "o", "õ", "o", "ú", "u", "ù", "u", "û", "u", "ç", "c", "ñ", "n", "′", "'", "−", "-", "–", "-", "Δ", "delta ", "°", " deg")

func slotOf(v session.SlotValue) dmx.Address {
	return dmx.Address{Universe: dmx.Universe(v.Universe), Slot: dmx.Slot(v.Slot)}
}
