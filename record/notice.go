package record

import (
	"fmt"
	"iter"
	"strings"
)

// A Notice is the view of a safety notice.
type Notice struct {
	NoticeOpened
	Asset          Asset
	Opened, Closed Time
	Seen           map[Asset]NoticeWork // parts that were seen to
	Documents      []Document
}

// NoticeWork is what was done to one part under a notice.
type NoticeWork struct {
	Done string
	At   Time
	Who  Who
	ID   ID
}

// Notice is the view of a safety notice at an instant.
func (e *Entity) Notice(at Time) (*Notice, error) {
	n := &Notice{Asset: e.Asset, Seen: map[Asset]NoticeWork{}}
	var d details[NoticeOpened]
	err := e.until(at, func(entry *Entry) error {
		switch entry.Kind {
		case "notice-opened":
			n.Opened, d.added = entry.Happened, entry
		case "notice-changed":
			return d.change(entry)
		case "notice-part-closed":
			var c NoticePartClosed
			if err := entry.read(&c); err != nil {
				return err
			}
			n.Seen[c.Part] = NoticeWork{Done: c.Done, At: entry.Happened, Who: entry.Who, ID: entry.ID}
		case "notice-closed":
			n.Closed = entry.Happened
		case "document-attached":
			return entry.document(&n.Documents)
		}
		return nil
	})
	if err == nil {
		n.NoticeOpened, err = d.whole()
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", e.Asset, err)
	}
	return n, nil
}

// A SerialRange is the serial numbers from one to another, both included. The two
// must be built alike: the same letters and signs around their runs of digits.
type SerialRange struct {
	From string `json:"from"`
	To   string `json:"to"`
}

func (r SerialRange) check() error {
	if err := checkTexts(text{"from", r.From, true}, text{"to", r.To, true}); err != nil {
		return err
	}
	from, to := readSerial(r.From), readSerial(r.To)
	if from.shape != to.shape {
		return &RuleError{Field: "to", Found: quote(r.To), Want: "a serial built like " + quote(r.From) + "; give another range for another build"}
	}
	if from.compare(to) > 0 {
		return &RuleError{Field: "to", Found: quote(r.To), Want: "a serial not before " + quote(r.From)}
	}
	return nil
}

// A Match says whether a notice concerns a part.
type Match int

const (
	Outside    Match = iota // the notice is not about it
	CannotTell              // something is missing or unlike: it must be looked at
	Inside
)

func (m Match) String() string {
	switch m {
	case Outside:
		return "outside"
	case Inside:
		return "inside"
	}
	return "cannot tell"
}

// Match tells whether the notice concerns a part, and where it cannot tell, why.
// Nothing that is missing ever counts as outside: a part without a type or
// serial, or with a serial that is built otherwise than the range's, must be
// looked at.
func (n *Notice) Match(p *Part) (Match, string) {
	switch {
	case p.PartAdded.Part == "" || p.Added == 0:
		return CannotTell, "no record says what part it is"
	case p.PartAdded.Part != n.NoticeOpened.Part:
		return Outside, ""
	case n.Type != "" && p.Type != "" && p.Type != n.Type:
		return Outside, ""
	}
	serial := n.matchSerial(p.Serial)
	switch {
	case serial == Outside:
		return Outside, ""
	case n.Type != "" && p.Type == "":
		return CannotTell, "its type is not known"
	case serial == CannotTell && strings.TrimSpace(p.Serial) == "":
		return CannotTell, "its serial is not known"
	case serial == CannotTell:
		return CannotTell, "its serial is not built like those of the notice"
	}
	return Inside, ""
}

func (n *Notice) matchSerial(text string) Match {
	if len(n.Ranges)+len(n.Serials) == 0 {
		return Inside
	}
	if strings.TrimSpace(text) == "" {
		return CannotTell
	}
	s := readSerial(text)
	alike := false
	for _, single := range n.Serials {
		one := readSerial(single)
		alike = alike || s.shape == one.shape
		if s.shape == one.shape && s.compare(one) == 0 {
			return Inside
		}
	}
	for _, r := range n.Ranges {
		from, to := readSerial(r.From), readSerial(r.To)
		if s.shape != from.shape {
			continue
		}
		alike = true
		if from.compare(s) <= 0 && s.compare(to) <= 0 {
			return Inside
		}
	}
	if alike {
		return Outside
	}
	return CannotTell
}

// A serial is a serial number taken apart: what stands around its runs of
// digits, and the digits.
type serial struct {
	shape string   // letters and signs, # for each run of digits
	runs  []string // digits without leading noughts
}

// readSerial takes a serial apart. Case, spaces, hyphens, dots and strokes do not
// count: people write them as they please.
func readSerial(text string) serial {
	var s serial
	var shape strings.Builder
	text = strings.ToUpper(text)
	run := -1
	for i := range len(text) {
		switch c := text[i]; {
		case '0' <= c && c <= '9':
			if run < 0 {
				run = i
				shape.WriteByte('#')
			}
			continue
		case run >= 0:
			s.runs = append(s.runs, strings.TrimLeft(text[run:i], "0"))
			run = -1
		}
		if c := text[i]; c != ' ' && c != '-' && c != '.' && c != '/' && c != '_' {
			shape.WriteByte(c)
		}
	}
	if run >= 0 {
		s.runs = append(s.runs, strings.TrimLeft(text[run:], "0"))
	}
	s.shape = shape.String()
	return s
}

// compare orders two serials of one shape, run by run.
func (s serial) compare(t serial) int {
	for i := range min(len(s.runs), len(t.runs)) {
		a, b := s.runs[i], t.runs[i]
		if len(a) != len(b) {
			return less(len(a) < len(b))
		}
		if a != b {
			return less(a < b)
		}
	}
	return 0
}

// A NoticePart is a part that a notice concerns, or may concern.
type NoticePart struct {
	Part  *Part
	Match Match
	Why   string      // where it cannot be told
	Work  *NoticeWork // what was done; nil: still open
}

// Find goes through parts and returns those that the notice concerns or may
// concern, seen to or not, scrapped ones left out unless they were seen to.
func (n *Notice) Find(parts iter.Seq[*Part]) []NoticePart {
	var found []NoticePart
	for p := range parts {
		match, why := n.Match(p)
		work, seen := n.Seen[p.Asset]
		if !seen && (match == Outside || p.Scrapped != 0) {
			continue
		}
		f := NoticePart{Part: p, Match: match, Why: why}
		if seen {
			f.Work = &work
		}
		found = append(found, f)
	}
	return found
}

// OpenParts counts the parts that still have to be seen to.
func OpenParts(found []NoticePart) int {
	open := 0
	for _, f := range found {
		if f.Work == nil {
			open++
		}
	}
	return open
}
