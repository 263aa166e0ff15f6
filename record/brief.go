package record

import (
	"strconv"
	"strings"
)

// A Brief is what a list shows of an entity and what it is found by. It is cached
// beside the entity and follows from it.
type Brief struct {
	Title  string   // what people call it
	Sort   string   // the title, spelt so that plain comparison sorts it as people count; empty for what stands only beside others, or was voided
	Text   string   // all that it is found by, one field a line
	Depot  Asset    // where it belongs or lies
	Status string   // active, fitted, stored, scrapped, open, closed, unknown
	At     Time     // when it began, for what is listed by time
	Refs   []Asset  // assets beside which it is listed
	Keys   []string // names that no second entity may have, such as account:ann
	Line   []byte   // the few values a list shows, as a JSON object
}

// The states that a Brief names.
const (
	StatusActive   = "active"
	StatusFitted   = "fitted"
	StatusStored   = "stored"
	StatusScrapped = "scrapped"
	StatusOpen     = "open"
	StatusClosed   = "closed"
	StatusUnknown  = "unknown" // no record in force adds it
)

// A line is a JSON object that is being written. Lists are written by the hundred
// thousand in a rebuild.
type line []byte

func (l line) set(name, value string) line {
	if value == "" {
		return l
	}
	return appendString(l.name(name), value)
}

func (l line) count(name string, n int) line {
	return strconv.AppendInt(l.name(name), int64(n), 10)
}

func (l line) list(name string, all []string) line {
	text, _ := marshal(all) // texts never fail
	return append(l.name(name), text...)
}

func (l line) name(name string) line {
	if len(l) == 0 {
		l = append(l, '{')
	} else {
		l = append(l, ',')
	}
	l = append(l, '"')
	l = append(l, name...)
	return append(l, '"', ':')
}

func (l line) end() []byte {
	if len(l) == 0 {
		return []byte("{}")
	}
	return append(l, '}')
}

// Brief says in short what the entity is today.
func (e *Entity) Brief() (Brief, error) {
	b, err := e.brief()
	// What no record in force adds was voided, or others only speak of it: it can be
	// looked at by its name and stands in no list.
	if kind := e.Asset.Kind(); kind != PeriodEntity && kind != AnswerEntity && b.Status != StatusUnknown {
		b.Sort = natural(b.Title)
	}
	return b, err
}

func (e *Entity) brief() (b Brief, err error) {
	switch e.Asset.Kind() {
	case VehicleAsset:
		v, err := e.Vehicle(Latest)
		if err != nil {
			return b, err
		}
		number, name := v.Number(), v.Name()
		b = Brief{
			Title: firstText(number, name, v.Registration, e.Asset.Name()), Depot: v.Depot, At: v.Added,
			Text:   words(number, name, v.Registration, v.VIN, v.VehicleAdded.Vehicle, fieldText(v.Fields, "kind")),
			Status: status(v.Added, v.Scrapped, StatusActive, StatusScrapped),
			Line: line{}.set("vehicle", v.VehicleAdded.Vehicle).set("name", name).set("registration", v.Registration).
				set("body", fieldText(v.Fields, "kind")).set("held", v.Held()).end(),
		}
		if v.Scrapped == 0 && v.Held() != "" {
			b.Refs = append(b.Refs, NotInUse)
		}
		if v.Scrapped == 0 && v.Retightening() != nil {
			b.Refs = append(b.Refs, BoltsDue)
		}
		if number != "" && v.Added != 0 && v.Scrapped == 0 {
			b.Keys = []string{"vehicle:" + strings.ToLower(number)}
		}
	case PartAsset:
		p, err := e.Part(Latest)
		if err != nil {
			return b, err
		}
		b = Brief{
			Title: strings.TrimSpace(p.PartAdded.Part + " " + firstText(p.Serial, e.Asset.Name())), Depot: p.Stored, At: p.Added,
			Text:   words(p.PartAdded.Part, p.Serial, p.Marking, p.Class),
			Status: status(p.Added, p.Scrapped, StatusStored, StatusScrapped),
		}
		l := line{}.set("part", p.PartAdded.Part).set("serial", p.Serial).set("marking", p.Marking).set("type", string(p.Type))
		if on := p.On(); on != nil {
			b.Refs = append(b.Refs, on.Vehicle)
			if b.Status == StatusStored {
				b.Status = StatusFitted
			}
			l = l.set("vehicle", string(on.Vehicle)).set("place", on.Place).set("since", on.From.String())
		}
		if p.Type != "" && p.Added != 0 {
			b.Refs = append(b.Refs, p.Type)
		}
		b.Line = l.end()
	case TypeAsset:
		t, err := e.Type(Latest)
		if err != nil {
			return b, err
		}
		b = Brief{Title: firstText(t.TypeAdded.Name, e.Asset.Name()), At: t.Added,
			Text:   words(t.TypeAdded.Name, t.Maker, t.Marking, t.Part, t.Class),
			Status: status(t.Added, 0, StatusActive, ""),
			Line: line{}.set("part", t.Part).set("maker", t.Maker).set("marking", t.Marking).
				count("dimensions", len(t.Dimensions)).count("intervals", len(t.Intervals)).end()}
	case DepotAsset:
		d, err := e.Depot(Latest)
		if err != nil {
			return b, err
		}
		b = Brief{Title: firstText(d.DepotAdded.Name, e.Asset.Name()), At: d.Added, Text: words(d.DepotAdded.Name, d.Address),
			Status: status(d.Added, d.Closed, StatusActive, StatusClosed), Line: line{}.set("address", d.Address).end()}
	case NoticeAsset:
		n, err := e.Notice(Latest)
		if err != nil {
			return b, err
		}
		b = Brief{Title: firstText(n.Title, e.Asset.Name()), At: n.Opened, Text: words(n.Title, n.NoticeOpened.Part, n.Source.Document),
			Status: status(n.Opened, n.Closed, StatusOpen, StatusClosed), Line: line{}.set("part", n.NoticeOpened.Part).count("seen", len(n.Seen)).end()}
		if n.Type != "" {
			b.Refs = []Asset{n.Type}
		}
	case AccountAsset:
		a, err := e.Account(Latest)
		if err != nil {
			return b, err
		}
		b = Brief{Title: firstText(a.AccountAdded.Name, a.Login, e.Asset.Name()), At: a.Added, Text: words(a.AccountAdded.Name, a.Login),
			Status: status(a.Added, a.Closed, StatusActive, StatusClosed), Line: line{}.set("login", a.Login).list("roles", a.Roles).end()}
		if a.Added != 0 && a.Closed == 0 {
			b.Keys = []string{"account:" + strings.ToLower(a.Login)}
			if a.Identity != "" {
				b.Keys = append(b.Keys, "identity:"+a.Identity)
			}
		}
	case PeriodEntity:
		return e.periodBrief()
	case AnswerEntity:
		a, err := e.Answer(Latest)
		if err != nil {
			return b, err
		}
		b.Title, b.Status, b.At = e.Asset.Name(), StatusUnknown, e.Entries[0].Happened
		if a != nil {
			b.Refs, b.Status = a.Vehicles, StatusActive
			b.Line = line{}.set("rulebook", a.Rulebook).set("program", a.Program).end()
		}
	default:
		b = Brief{Title: e.Asset.Name(), Text: words(e.Asset.Name()), Status: StatusActive}
	}
	return b, nil
}

// periodBrief reads no more of a period than it shows: there are many.
func (e *Entity) periodBrief() (b Brief, err error) {
	var from, to Time
	var towed, by Asset
	err = e.until(Latest, func(entry *Entry) error {
		switch entry.Kind {
		case "coupled":
			var c struct{ By Asset }
			from, towed = entry.Happened, entry.Chain
			err := entry.read(&c)
			by = c.By
			return err
		case "uncoupled":
			to = entry.Happened
		}
		return nil
	})
	b = Brief{Title: from.String(), At: from, Status: status(from, to, StatusOpen, StatusClosed)}
	if from != 0 {
		b.Refs = []Asset{towed, by}
	}
	b.Line = line{}.set("towed", string(towed)).set("by", string(by)).set("from", from.String()).set("to", to.String()).end()
	return b, err
}

func status(added, ended Time, on, off string) string {
	switch {
	case added == 0:
		return StatusUnknown
	case ended != 0:
		return off
	}
	return on
}

func firstText(all ...string) string {
	for _, s := range all {
		if strings.TrimSpace(s) != "" {
			return s
		}
	}
	return ""
}

func words(all ...string) string {
	var have []string
	for _, s := range all {
		if s = strings.TrimSpace(s); s != "" {
			have = append(have, s)
		}
	}
	return strings.Join(have, "\n")
}

// natural spells text so that plain comparison puts it in the order in which
// people count: T-2 before T-10, letters without regard to case. Each run of
// digits is led by its length.
func natural(s string) string {
	var b strings.Builder
	s = strings.ToLower(strings.TrimSpace(s))
	for i := 0; i < len(s); {
		if s[i] < '0' || '9' < s[i] {
			b.WriteByte(s[i])
			i++
			continue
		}
		j := i
		for j < len(s) && '0' <= s[j] && s[j] <= '9' {
			j++
		}
		digits := strings.TrimLeft(s[i:j], "0")
		n := min(len(digits), 99)
		b.WriteByte('0' + byte(n/10))
		b.WriteByte('0' + byte(n%10))
		b.WriteString(digits)
		i = j
	}
	return b.String()
}
