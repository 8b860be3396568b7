package profiles_test

import (
	"fmt"
	"strings"

	"trueup/profiles"
	"trueup/profiles/yamlfile"
)

const wash = `profile: Wash 14
modes:
  - mode: RGBW
    kind: emitters
    slots: 6
    dimmer: {slots: [1, 2]}
    emitters:
      - {name: red, slots: [3]}
      - {name: green, slots: [4]}
      - {name: blue, slots: [5]}
      - {name: white, slots: [6], kelvin: 5600}
`

// Codes go to the slots of the fixture in the order of Params: the emitters,
// then the dimmer.
func ExampleMode_Encode() {
	p, err := profiles.Parse("wash.yaml", []byte(wash))
	if err != nil {
		fmt.Println(err)
		return
	}
	m, err := p.Mode("RGBW")
	if err != nil {
		fmt.Println(err)
		return
	}
	slots := make([]byte, m.Footprint)
	if err := m.Encode(0, []uint32{10, 20, 30, 40, 0x8001}, slots); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(slots)
	// Output: [128 1 10 20 30 40]
}

// Everything that is wrong is said at once, with what to do about it.
func ExampleParse() {
	_, err := profiles.Parse("wash.yaml", []byte(strings.NewReplacer("dimmer", "dimer", "kelvin: 5600", "kelvin: 56000").Replace(wash)))
	fmt.Print(yamlfile.Report(err))
	// Output:
	// wash.yaml:6:5: the key "dimer" is not known here
	//     6 |     dimer: {slots: [1, 2]}
	//       |     ^
	//   hint: did you mean "dimmer"?
	// wash.yaml:11:43: kelvin is 56000: want a number from 1000 to 25000
	//    11 |     - {name: white, slots: [6], kelvin: 56000}
	//       |                                         ^
}
