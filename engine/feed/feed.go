// Package feed is the game over a network: its messages, the estimate of another computer's clock, and the pointers
// that find a game in somebody else's JSON. It must not open a connection, read a clock or keep a goroutine: bytes and
// instants come in and go out.
package feed
