package yard

import (
	"underpin/record"
	"underpin/rule"
)

// DoNotUse is what the card says of a pair of which a half is out of use; the
// other answers are those of package rule.
const DoNotUse rule.Answer = "do-not-use"

// Allowed is what a card says of a pair before coupling.
type Allowed struct {
	Says   rule.Answer `json:"says,omitempty"`
	Reason Message     `json:"reason,omitzero"` // one sentence
	// Since is when this became known: when the unit was put out of use, or when
	// the data were last brought up to date.
	Since record.Time `json:"since,omitempty"`
	// Tag asks for a physical tag or a kingpin lock on the blocked unit.
	Tag bool `json:"tag,omitempty"`
}

// A Block is a unit that somebody put out of use.
type Block struct {
	Unit   string // as people call it
	Why    string
	Since  record.Time
	Tagged bool // a tag or a kingpin lock was seen on it
}

// An Asked is all that the card's verdict follows from.
type Asked struct {
	Answer  rule.Answer // of the combination as it stands; empty was never worked out
	Reason  string      // the finding that decides, as a sentence without full stop
	Setting string      // what to set, where another setting fits
	Missing []string
	Blocks  []Block
	Known   record.Time // when data and blocks were last brought up to date
	Now     record.Time // in truth, or by the phone's clock
	// Oldest is how old data may be, in microseconds; 0 was never set.
	Oldest record.Time
}

// Allow says whether this pair is allowed. A block that is known holds whatever
// its age: only a technician lifts it. Everything else is told only while the
// data are no older than the limit; no limit, no age and a clock that stands
// before the data tell nothing.
func Allow(a Asked) Allowed {
	for _, b := range a.Blocks {
		key := Key("allow.do-not-use")
		if !b.Tagged {
			key = "allow.do-not-use.tag"
		}
		return Allowed{Says: DoNotUse, Reason: say(key, b.Unit, b.Why), Since: b.Since, Tag: !b.Tagged}
	}
	out := Allowed{Says: rule.CannotTell, Since: a.Known}
	switch {
	case a.Known == 0:
		out.Reason = say("allow.no-data")
	case a.Oldest <= 0:
		out.Reason = say("allow.no-limit")
	case a.Now < a.Known:
		out.Reason = say("allow.clock")
	case a.Now-a.Known > a.Oldest:
		out.Reason = say("allow.old", hours(a.Now-a.Known), hours(a.Oldest))
	default:
		return a.told()
	}
	return out
}

// told is the verdict while the data are fresh.
func (a Asked) told() Allowed {
	out := Allowed{Says: a.Answer, Since: a.Known}
	switch {
	case a.Answer == rule.Fits && len(a.Missing) == 0:
		out.Reason = say("allow.fits")
	case a.Answer == rule.FitsIf && a.Setting != "":
		out.Reason = say("allow.fits-if", a.Setting)
	case a.Answer == rule.DoesNotFit && a.Reason != "":
		out.Reason = say("allow.does-not-fit", a.Reason)
	case a.Answer == rule.DoesNotFit:
		out.Reason = say("allow.does-not-fit.plain")
	default:
		out.Says = rule.CannotTell
		if len(a.Missing) > 0 {
			out.Reason = say("allow.missing", list(a.Missing))
		} else {
			out.Reason = say("allow.not-worked-out")
		}
	}
	return out
}

func (a Allowed) validate() error {
	if err := oneOf("allowed.says", a.Says, rule.Fits, rule.FitsIf, rule.DoesNotFit, rule.CannotTell, DoNotUse); err != nil {
		return err
	}
	return a.Reason.validate("allowed.reason")
}

// hour is one in the unit of times.
const hour record.Time = 3600 * 1_000_000

// hours writes an age in whole hours, rounded up.
func hours(t record.Time) string { return whole(int64((t + hour - 1) / hour)) }

// list joins what is missing; more than three are counted.
func list(all []string) string {
	const most = 3
	out := ""
	for i, s := range all {
		switch {
		case i == most:
			return out + " + " + whole(int64(len(all)-most))
		case i > 0:
			out += ", "
		}
		out += s
	}
	return out
}
