// Package expr is the one grammar by which a person names a colour, in flags,
// in the rig file and on the page.
//
//	5600K                     Planckian white; also "5600 K", "3.2kK"
//	5600K +0.002              the same with a Duv; also "5600K duv -0.002"
//	179 mired                 the same by its reciprocal; a Duv may follow
//	D65, D50, D55, D75, A     CIE illuminants (white points over 380-780 nm)
//	FL1..FL12, LED-B1..LED-V2 CIE illuminants
//	D60, D6003K, D5600        CIE daylight: two digits by the old name (D60 is
//	                          6003 K), four or five digits or a K in true kelvin
//	xy 0.3127 0.3290          CIE 1931; also xy(0.3127, 0.3290), x=0.3127 y=0.3290
//	xyY 0.3127 0.3290 1200    with a level in lux or cd/m2
//	uv 0.1978 0.4683          CIE 1976 u', v'; also u'v' 0.1978 0.4683
//	uv60 0.1978 0.3122        CIE 1960 u, v
//	XYZ 95 100 108            tristimulus values; Y is the level
//	rgb 1 0.5 0.2 in P3-D65   linear light, 0..1, in a named space
//	hs 30deg 60% in BT.709    hue and saturation (hexcone, linear light, full value)
//	hsi 30deg 60% in BT.709   hue and saturation (circular, linear light)
//	#ff8800                   sRGB as a page writes it; also "#f80", "#ff8800 in P3-D65"
//	reading KEY               a saved reading, where the caller has some
//
// Letter case does not matter. Numbers may be separated by spaces, commas or
// semicolons, with or without brackets. The decimal sign is a point; a comma that
// may be meant as one ("XYZ 95,05 100") is refused.
package expr
