// Package rig reads the rig file: output, feed, limits, target and fixtures.
package rig
