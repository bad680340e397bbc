package journal

import (
	"bytes"
	"encoding/json"
	"fmt"
	"hash/crc32"
	"strconv"

	"rafter/engine"
)

// A line is sealed by its last member, "crc": the CRC-32C of every byte before that member's comma. Its form is
// fixed, to the digit, so that no bit of a line can change unseen.
const (
	sealHead = `,"crc":"`
	sealTail = `"}`
	sealSize = len(sealHead) + 8 + len(sealTail)
)

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// checksum is the CRC-32C of RFC 3720, section 12.1.
func checksum(body []byte) uint32 { return crc32.Checksum(body, castagnoli) }

// appendSeal ends the line whose body (an object without its closing brace) is line[start:].
func appendSeal(line []byte, start int) []byte {
	sum := checksum(line[start:])
	return append(appendSum(append(line, sealHead...), sum), sealTail+"\n"...)
}

// appendSum writes a checksum in eight small hexadecimal digits.
func appendSum(dst []byte, sum uint32) []byte {
	const hex = "0123456789abcdef"
	for shift := 28; shift >= 0; shift -= 4 {
		dst = append(dst, hex[sum>>shift&15])
	}
	return dst
}

// unseal returns the body of a line (its newline cut off), or says what is wrong with the seal.
func unseal(line []byte) (body []byte, problem string) {
	at := len(line) - sealSize
	if at < 1 || !bytes.HasPrefix(line[at:], []byte(sealHead)) || !bytes.HasSuffix(line, []byte(sealTail)) {
		return nil, "it does not end in a checksum"
	}
	body = line[:at]
	var sum [8]byte
	if !bytes.Equal(line[at+len(sealHead):len(line)-len(sealTail)], appendSum(sum[:0], checksum(body))) {
		return nil, "its checksum does not fit: it was changed or damaged after it was written"
	}
	return body, ""
}

// Encoder writes lines and counts them. The zero value begins a log: its first record must be the header.
type Encoder struct{ written int }

// Continue returns an Encoder that goes on after the log's good lines.
func Continue(l *Log) Encoder { return Encoder{l.Lines} }

// Append adds r's line to dst. The error is that of a value that JSON cannot hold; dst is then as it was.
func (e *Encoder) Append(dst []byte, r Record) ([]byte, error) {
	start, seq := len(dst), e.written+1
	if (r.Header != nil) != (seq == 1) {
		return dst, fmt.Errorf("line %d of a log: the header is the first line and no other", seq)
	}
	line := strconv.AppendInt(append(dst, `{"seq":`...), int64(seq), 10)
	if r.Beat != nil {
		line = appendBeat(line, *r.Beat)
	} else {
		name, value := r.wire()
		if value == nil {
			return dst, fmt.Errorf("line %d of a log: the record is empty", seq)
		}
		content, err := json.Marshal(value)
		if err != nil {
			return dst, fmt.Errorf("line %d of a log: %w", seq, err)
		}
		line = append(append(append(append(line, `,"`...), name...), `":`...), content...)
	}
	line = appendSeal(line, start)
	if len(line)-start > MaxLine {
		return dst, &Error{Code: TooLarge, Line: seq, Reason: tooLongReason}
	}
	e.written = seq
	return line, nil
}

// appendBeat writes the member that most lines of a log consist of, without reflection.
func appendBeat(line []byte, b Beat) []byte {
	line = strconv.AppendInt(append(line, `,"beat":{"at_ns":`...), int64(b.At), 10)
	line = strconv.AppendInt(append(line, `,"left_ns":`...), int64(b.Left), 10)
	return append(line, '}')
}

func (r Record) wire() (name string, value any) {
	switch {
	case r.Header != nil:
		return "header", r.Header
	case r.Event != nil:
		return "event", r.Event
	case r.Resume != nil:
		return "resume", r.Resume
	case r.End != nil:
		return "end", r.End
	}
	return "", nil
}

// Encode writes a whole log without beats: the header, then the events. Its order is that of the events.
func Encode(h Header, events []engine.Event) ([]byte, error) {
	var e Encoder
	out, err := e.Append(nil, Record{Header: &h})
	for i := 0; i < len(events) && err == nil; i++ {
		out, err = e.Append(out, Record{Event: &events[i]})
	}
	return out, err
}

// IsEnd tells whether a line, its newline cut off, is a whole one that says that the game was put away.
func IsEnd(line []byte) bool {
	body, problem := unseal(line)
	_, content, _ := bytes.Cut(body, []byte(","))
	return problem == "" && bytes.HasPrefix(content, []byte(`"end":`))
}
