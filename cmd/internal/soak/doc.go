// Package soak is a gym that goes on for as long as it is asked to, for its own test: a host, one that follows it through a
// bad network, and those who watch both. It has no code that a program could use, and must not get any.
package soak
