// Package check reads frames, or captured packets, and names every violation of
// the written limits. It is the second opinion on the governor: it knows the
// limits and the heads as data, and shares no code with what keeps them.
//
// Where the written limits need an interpretation, it is this:
//
//   - Light is code through curve (straight between its points), emitters summed
//     by weight, times the dimmer. A change may be ahead of its limit by one code
//     step, because codes are whole numbers.
//   - What a lamp truly gives may differ from its curve: speed and flashes are
//     judged under several [Truth]s, those that the limits promise to cover, or, with
//     [NewTrue], the one that a test knows. Caps, and what is dark, are by the declared
//     curve.
//   - A frame may make up for 50 ms, however long ago the last one was. A clock that
//     runs backwards passes no time.
//   - Opposing swings are counted as the longest up-down series that can be
//     picked from the swings of all heads inside one second. What changes in one
//     frame changes together, in the order that counts least.
//   - In an overlay, a head whose slots all equal the desk's, in this frame
//     and the one before, is the desk's show; so is every head after 2.5 s without
//     a frame.
package check
