package rehearse

import "testing"

// Four hundred lamps are rehearsed while a person waits.
func BenchmarkRehearse400(b *testing.B) {
	j := wall(b, 400, 1)
	for b.Loop() {
		if p, err := j.Play(); err != nil || p.Err != nil {
			b.Fatal(err, p.Err)
		}
	}
}
