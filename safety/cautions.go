package safety

// Cautions is shown before light is driven, in help, in the README and in the
// report. CautionsShort is for the foot of a page.
const (
	Cautions = `This program changes light. It limits how fast, but it cannot know who is watching, standing in the beam,
or on a ladder. Flashing light can cause seizures; bright, hot, ultraviolet and violet sources can injure
eyes and skin. Warn people, keep a way to cut the power within reach, keep house and escape lights out of
it. Follow the fixture's manual and your local codes, and leave electrical work, rigging and work at height
to those trained and licensed for it.

- Photosensitive epilepsy: flashes at 3 to 60 a second can trigger a seizure, saturated red most of all.
  Three flashes in any second, over all lamps of a run together, are never passed by levels sent from here.
- Eyes and skin (IEC 62471): know each lamp's risk group. In group 3 even a moment is too long. A group
  says nothing about another distance, other optics, several lamps on one face, or hours under them.
- Glare: a narrow bright beam at eye level blinds people at stairs, pits and trapdoors.
- Heat: beams and housings burn skin, gels, drapes and glass. A long run at full wants a person nearby.
- Height: nobody on a ladder in a beam that software drives, or dependent on a light it may dim.
- Ultraviolet and violet are nearly invisible to a light meter: a dark reading is no proof of safety.
- Load: many lamps driven to full together can trip a supply, and a tripped supply is a blackout.
- The network: what other sources send, and what a lamp does with levels or without them, is beyond this
  program. An emergency stop is a switch in the supply, not a key in a program.`

	CautionsShort = `Flashing light can cause seizures; bright, hot, UV and violet light can injure. Warn people, keep the power ` +
		`switch within reach, keep house and escape lights out of it. Local codes and licensed practice come first.`
)
