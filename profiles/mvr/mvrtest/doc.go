// Package mvrtest makes My Virtual Rig files for tests: plans with invented
// makers, types and places.
package mvrtest
