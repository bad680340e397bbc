// Package feed is the game over a network: its messages, and the estimate of another computer's clock. It must not open
// a connection, read a clock or keep a goroutine: bytes and instants come in and go out.
package feed
