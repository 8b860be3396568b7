// Package feed is where readings come from: transports, user-written instrument
// descriptions, and the checks a reading passes before it counts.
package feed
