package journal

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"time"
	"unicode/utf8"

	"rafter/engine"
	"rafter/engine/clock"
)

const tooLongReason = "it is longer than a line of a log can be (256 KiB)"

// Read reads a log to its end or to the first line that is not as it was written. A last line without its
// newline was cut off in writing: it is left out, and Log.Torn gives its size. The error is an *Error; the log
// returned with it holds everything before that line, and is nil only where there is no header.
func Read(r io.Reader) (*Log, error) {
	in := bufio.NewScanner(r)
	in.Buffer(make([]byte, 0, 64<<10), MaxLine)
	in.Split(cutLine)
	log := &Log{}
	var rest []byte
	for in.Scan() {
		line, whole := bytes.CutSuffix(in.Bytes(), []byte("\n"))
		if !whole {
			rest = line
			break
		}
		if log.Size+int64(len(line))+1 > MaxFile {
			return log.orNil(), &Error{Code: TooLarge, Line: log.Lines + 1, Reason: "the file is larger than a log can be (32 MiB)"}
		}
		if err := log.add(line); err != nil {
			return log.orNil(), err
		}
		log.Size += int64(len(line)) + 1
	}
	err := in.Err()
	switch {
	case err == nil:
		return log.end(rest)
	case !errors.Is(err, bufio.ErrTooLong):
		return log.orNil(), &Error{Code: Failed, Line: log.Lines + 1, Reason: "it cannot be read: " + err.Error(), cause: err}
	case log.Lines == 0:
		return nil, foreign("its first line is longer than a header can be")
	}
	return log, &Error{Code: TooLarge, Line: log.Lines + 1, Reason: tooLongReason}
}

// cutLine splits after each newline, which stays with its line: a last line without one is torn.
func cutLine(data []byte, atEOF bool) (advance int, line []byte, err error) {
	if end := bytes.IndexByte(data, '\n'); end >= 0 {
		return end + 1, data[:end+1], nil
	}
	if atEOF && len(data) > 0 {
		return len(data), data, nil
	}
	return 0, nil, nil
}

func (l *Log) orNil() *Log {
	if l.Lines == 0 {
		return nil
	}
	return l
}

// end judges what follows the last newline.
func (l *Log) end(rest []byte) (*Log, error) {
	l.Torn = int64(len(rest))
	if l.Lines > 0 {
		return l, nil
	}
	if len(rest) == 0 {
		return nil, &Error{Code: Empty, Reason: "the file is empty: no game was begun in it"}
	}
	if bytes.HasPrefix(rest, []byte(headerStart)) {
		return nil, &Error{Code: Damaged, Line: 1, Reason: "the header was cut off before it was whole: no game was begun in it"}
	}
	return nil, foreign("its first line is no header")
}

// headerStart begins every log of every version. Where it or the other is whole, the file is a damaged log and
// not another's.
const (
	headerStart   = `{"seq":1,"header":{"format":`
	programMember = `"program":"` + Program + `"`
)

func foreign(why string) error {
	return &Error{Code: Foreign, Reason: "the file is not a log of " + Program + ": " + why}
}

// add takes one line, its newline cut off.
func (l *Log) add(line []byte) error {
	number := l.Lines + 1
	body, problem := unseal(line)
	if problem != "" {
		if number == 1 && !bytes.HasPrefix(line, []byte(headerStart)) && !bytes.Contains(line, []byte(programMember)) {
			return foreign("its first line is no header")
		}
		if _, format, ok := cutInt(line, headerStart, number == 1); ok && format > Format {
			return &Error{Code: Future, Line: 1, Reason: fmt.Sprintf(
				"it says that the log has format %d, and this version reads up to %d; its checksum is not ours: a newer version wrote it, or it is damaged", format, Format)}
		}
		return damaged(number, problem)
	}
	if number == 1 {
		if err := checkOrigin(body); err != nil {
			return err
		}
	}
	if beat, ok := parseBeat(body, number); ok {
		return l.addBeat(number, beat)
	}
	if event := parseEvent(body, number); event != nil {
		return l.addRecord(number, Record{Event: event})
	}
	record, problem := parseRecord(body, number)
	if _, inTurn := cutSeq(body, number); problem != "" && inTurn {
		return unknown(number, problem)
	}
	if problem != "" {
		return damaged(number, problem)
	}
	return l.addRecord(number, record)
}

func (l *Log) addRecord(number int, r Record) error {
	if r.Beat != nil {
		return l.addBeat(number, *r.Beat)
	}
	if problem := l.misplaced(r); problem != "" {
		return damaged(number, problem)
	}
	switch {
	case r.Header != nil:
		l.Header = *r.Header
	case r.Event != nil:
		if l.Events == MaxEvents {
			return &Error{Code: TooLarge, Line: number, Reason: "there are more events than a log can hold (100,000)"}
		}
		l.Events++
		l.lineOf = append(l.lineOf, number)
	}
	l.Ended = r.End != nil
	l.Records = append(l.Records, r)
	l.Lines = number
	l.latest = max(l.latest, r.At())
	return nil
}

func (l *Log) addBeat(number int, b Beat) error {
	switch {
	case l.Lines == 0:
		return damaged(number, misplacedHeader)
	case b.At < l.latest:
		return damaged(number, l.tooEarly(b.At))
	case b.Left < 0:
		return damaged(number, "the clock's reading is below zero")
	}
	l.Last, l.latest = b, b.At
	l.Beats++
	l.Lines = number
	return nil
}

const misplacedHeader = "the header must be the first line and no other"

func (l *Log) tooEarly(at clock.Instant) string {
	return fmt.Sprintf("its time, %d ns, is before that of an earlier line, %d ns", at, l.latest)
}

// misplaced tells what is wrong with a well-formed record at this place of the log.
func (l *Log) misplaced(r Record) string {
	if (r.Header != nil) != (l.Lines == 0) {
		return misplacedHeader
	}
	if at := r.At(); at < l.latest {
		return l.tooEarly(at)
	}
	if e := r.Event; e != nil {
		if e.Number != l.Events+1 {
			return fmt.Sprintf("event %d stands where event %d belongs", e.Number, l.Events+1)
		}
		if e.Was.OK && (e.Was.Value < 0 || e.Was.Value > e.At) {
			return fmt.Sprintf("event %d says that it was true at %d ns, which is not from 0 to its own time", e.Number, e.Was.Value)
		}
	}
	return ""
}

// checkOrigin tells another program's file and a newer form from damage, before anything else of the header is
// read: both may hold members that this version does not know.
func checkOrigin(body []byte) error {
	var first struct {
		Header *struct {
			Format  *int
			Program *string
		}
	}
	whole := slices.Concat(body, []byte{'}'})
	err := json.Unmarshal(whole, &first)
	h := first.Header
	switch {
	case err != nil || h == nil || h.Format == nil || h.Program == nil:
		return foreign("its first line is no header")
	case *h.Program != Program:
		return foreign(fmt.Sprintf("it says that %q wrote it", *h.Program))
	case *h.Format > Format:
		return &Error{Code: Future, Reason: fmt.Sprintf(
			"the log has format %d and this version reads up to %d: open it with a newer version", *h.Format, Format)}
	case *h.Format < 1:
		return damaged(1, fmt.Sprintf("format %d has never been written", *h.Format))
	}
	return nil
}

// Nearly all lines are beats and events in the spelling that Append gives them. parseBeat and parseEvent read that and
// nothing else, some ten times as fast as JSON is read. What they take parseRecord would take too, with the same result;
// what they leave is left to it. The command inside an event is the engine's to read, which is strict whatever its spelling.

func parseBeat(body []byte, number int) (b Beat, ok bool) {
	rest, ok := cutSeq(body, number)
	rest, at, ok := cutInt(rest, `,"beat":{"at_ns":`, ok)
	rest, left, ok := cutInt(rest, `,"left_ns":`, ok)
	return Beat{At: clock.Instant(at), Left: time.Duration(left)}, ok && string(rest) == "}"
}

// parseEvent returns nil where it does not take the line.
func parseEvent(body []byte, number int) *engine.Event {
	rest, ok := cutSeq(body, number)
	rest, n, ok := cutInt(rest, `,"event":{"number":`, ok)
	rest, at, ok := cutInt(rest, `,"at_ns":`, ok)
	was := engine.None
	if after, ns, given := cutInt(rest, `,"was_ns":`, ok); given {
		rest, was = after, engine.Some(clock.Instant(ns))
	}
	rest, desk, ok := cutText(rest, `,"desk":`, ok)
	command, whole := bytes.CutSuffix(rest, []byte("}"))
	command, named := bytes.CutPrefix(command, []byte(`,"command":`))
	if !ok || !whole || !named {
		return nil
	}
	e := &engine.Event{Number: int(n), At: clock.Instant(at), Was: was, Desk: desk}
	if e.Command.UnmarshalJSON(command) != nil {
		return nil
	}
	return e
}

// cutSeq cuts the beginning of line number.
func cutSeq(body []byte, number int) (rest []byte, ok bool) {
	rest, seq, ok := cutInt(body, `{"seq":`, true)
	return rest, ok && seq == int64(number)
}

// cutInt cuts prefix and the whole number after it from b, if ok. At most 18 digits: more may not fit.
func cutInt(b []byte, prefix string, ok bool) (rest []byte, value int64, _ bool) {
	if !ok || len(b) < len(prefix) || string(b[:len(prefix)]) != prefix {
		return b, 0, false
	}
	b = b[len(prefix):]
	digits := 0
	for digits < len(b) && b[digits] >= '0' && b[digits] <= '9' && digits < 18 {
		value = value*10 + int64(b[digits]-'0')
		digits++
	}
	leadingZero := digits > 1 && b[0] == '0'
	return b[digits:], value, digits > 0 && !leadingZero
}

// cutText cuts prefix and the quoted text after it from b, if ok; only text that JSON writes as it is, in ASCII.
func cutText(b []byte, prefix string, ok bool) (rest []byte, text string, _ bool) {
	b, found := bytes.CutPrefix(b, []byte(prefix+`"`))
	end := 0
	for end < len(b) && b[end] >= ' ' && b[end] <= '~' && b[end] != '"' && b[end] != '\\' {
		end++
	}
	if !ok || !found || end == len(b) || b[end] != '"' {
		return b, "", false
	}
	return b[end+1:], string(b[:end]), true
}

func parseRecord(body []byte, number int) (r Record, problem string) {
	whole := slices.Concat(body, []byte{'}'})
	if !utf8.Valid(whole) {
		return r, "it is not UTF-8"
	}
	if problem := checkNames(whole); problem != "" {
		return r, problem
	}
	var w struct {
		Seq int `json:"seq"`
		Record
	}
	in := json.NewDecoder(bytes.NewReader(whole))
	in.DisallowUnknownFields()
	if err := in.Decode(&w); err != nil {
		return r, "it cannot be read: " + err.Error()
	}
	if in.InputOffset() != int64(len(whole)) {
		return r, "something follows the record on its line"
	}
	if w.Seq != number {
		return r, "its sequence number is " + strconv.Itoa(w.Seq) + ": a line is missing, doubled or out of place"
	}
	set := 0
	for _, isSet := range [...]bool{w.Header != nil, w.Event != nil, w.Beat != nil, w.Resume != nil, w.End != nil} {
		if isSet {
			set++
		}
	}
	if set != 1 {
		return r, fmt.Sprintf("it holds %d records, not one", set)
	}
	if w.Header != nil {
		return w.Record, headerProblem(w.Header)
	}
	return w.Record, ""
}

func headerProblem(h *Header) string {
	if !plainID(h.ID) {
		return fmt.Sprintf("the game's id %.80q is not 1 to 64 printable characters", h.ID)
	}
	if err := h.Setup.Rules.Check(); err != nil {
		return "its rules are missing or contradict each other: " + err.Error()
	}
	return ""
}

func plainID(id string) bool {
	for i := range len(id) {
		if id[i] <= ' ' || id[i] > '~' {
			return false
		}
	}
	return len(id) >= 1 && len(id) <= 64
}
