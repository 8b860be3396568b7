package main

import "trueup/loop/feed"

// quality is the light quality of a reading with a spectrum.
func quality(r feed.Reading) string {
	return ""
}
