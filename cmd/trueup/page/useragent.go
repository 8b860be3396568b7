package page

import "strings"

// machineWords tells pages apart for people: what a browser says that it runs on. It decides nothing.
func machineWords(userAgent string) string {
	for _, m := range []struct{ has, word string }{
		{"Android", "phone"}, {"iPhone", "phone"}, {"iPad", "tablet"}, {"Windows", "laptop"}, {"Macintosh", "laptop"}, {"Linux", "laptop"}, {"CrOS", "laptop"},
	} {
		if strings.Contains(userAgent, m.has) {
			return " (" + m.word + ")"
		}
	}
	return ""
}
