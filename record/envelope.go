package record

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strconv"
	"unicode/utf8"
)

// encode writes the bytes to be stored: one line of JSON, members in this order,
// those without content left out, the body last. It happens once, when the
// record is made.
func (r *Record) encode() []byte {
	b := make([]byte, 0, 512+len(r.Body))
	b = append(b, `{"record":`...)
	b = strconv.AppendInt(b, Format, 10)
	b = append(b, `,"id":"`...)
	b = append(b, r.ID...)
	b = append(b, `","asset":"`...)
	b = append(b, r.Asset...)
	b = append(b, `","sequence":`...)
	b = strconv.AppendInt(b, r.Seq, 10)
	b = append(b, `,"previous":"`...)
	b = append(b, r.Previous.String()...)
	b = append(b, `","kind":"`...)
	b = append(b, r.Kind...)
	b = append(b, `","version":`...)
	b = strconv.AppendInt(b, int64(r.Version), 10)
	b = append(b, `,"happened":"`...)
	b = r.Happened.append(b)
	b = append(b, `","entered":"`...)
	b = r.Entered.append(b)
	b = append(b, `","who":{`...)
	if r.Who.Account != "" {
		b = append(b, `"account":"`...)
		b = append(b, r.Who.Account...)
		b = append(b, `",`...)
	}
	b = append(b, `"name":`...)
	b = appendString(b, r.Who.Name)
	b = append(b, '}')
	if r.Reason != "" {
		b = append(b, `,"reason":`...)
		b = appendString(b, r.Reason)
	}
	if r.Corrects != "" {
		b = append(b, `,"corrects":"`...)
		b = append(b, r.Corrects...)
		b = append(b, '"')
	}
	for i, d := range r.Blobs {
		if i == 0 {
			b = append(b, `,"blobs":["`...)
		} else {
			b = append(b, `","`...)
		}
		b = append(b, d.String()...)
	}
	if len(r.Blobs) > 0 {
		b = append(b, `"]`...)
	}
	b = append(b, `,"body":`...)
	b = append(b, r.Body...)
	return append(b, '}')
}

// appendString writes s as a JSON string.
func appendString(b []byte, s string) []byte {
	plain := true
	for i := range len(s) {
		if c := s[i]; c < ' ' || c == '"' || c == '\\' || c >= 0x7f {
			plain = false
			break
		}
	}
	if plain {
		b = append(b, '"')
		b = append(b, s...)
		return append(b, '"')
	}
	text, _ := marshal(s) // a string never fails
	return append(b, text...)
}

// marshal is json.Marshal without the escapes that only HTML needs.
func marshal(v any) ([]byte, error) {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimRight(buf.Bytes(), "\n"), nil
}

// Decode reads stored bytes. It keeps b, which must not change afterwards. It
// reads the envelope strictly, in the order in which it is written, and the body
// as any JSON object; what the body says only Open knows.
func Decode(b []byte) (*Record, error) {
	r := new(Record)
	if err := r.decode(b); err != nil {
		return nil, err
	}
	if !json.Valid(r.Body) {
		return nil, &RuleError{Field: "body", Found: quote(string(r.Body)), Want: "a JSON object"}
	}
	r.Digest = DigestOf(b)
	return r, nil
}

// decode reads the envelope and finds the body, without looking into it.
func (r *Record) decode(b []byte) error {
	c := cursor{rest: b}
	c.want(`{"record":`)
	if format := c.int(); c.why == "" && format != Format {
		return &RuleError{Field: "record", Found: "format " + strconv.FormatInt(format, 10), Want: "format " + strconv.Itoa(Format) + "; a later program wrote it"}
	}
	c.want(`,"id":`)
	r.ID = ID(c.text())
	c.want(`,"asset":`)
	r.Asset = Asset(c.text())
	c.want(`,"sequence":`)
	r.Seq = c.int()
	c.want(`,"previous":`)
	r.Previous = c.digest()
	c.want(`,"kind":`)
	r.Kind = c.text()
	c.want(`,"version":`)
	r.Version = int(c.int())
	c.want(`,"happened":`)
	r.Happened = c.time()
	c.want(`,"entered":`)
	r.Entered = c.time()
	c.want(`,"who":{`)
	if c.have(`"account":`) {
		r.Who.Account = Asset(c.text())
		c.want(`,`)
	}
	c.want(`"name":`)
	r.Who.Name = c.text()
	c.want(`}`)
	if c.have(`,"reason":`) {
		r.Reason = c.text()
	}
	if c.have(`,"corrects":`) {
		r.Corrects = ID(c.text())
	}
	if c.have(`,"blobs":[`) {
		r.Blobs = append(r.Blobs, c.digest())
		for c.have(`,`) {
			r.Blobs = append(r.Blobs, c.digest())
		}
		c.want(`]`)
	}
	c.want(`,"body":`)
	if c.why != "" {
		return &RuleError{Field: "record", Found: fmt.Sprintf("at byte %d %s", len(b)-len(c.rest), quote(string(c.rest))), Want: c.why}
	}
	if n := len(c.rest); n < 3 || c.rest[0] != '{' || c.rest[n-1] != '}' || c.rest[n-2] != '}' {
		return &RuleError{Field: "body", Found: quote(string(c.rest)), Want: "an object, and the end of the record"}
	}
	r.Body = c.rest[: len(c.rest)-1 : len(c.rest)-1]
	r.Bytes = b
	return nil
}

// A cursor reads JSON whose members are known in advance. After the first
// mismatch it stays where it is and says what it wanted.
type cursor struct {
	rest []byte
	why  string
}

func (c *cursor) have(s string) bool {
	if c.why != "" || len(c.rest) < len(s) || string(c.rest[:len(s)]) != s {
		return false
	}
	c.rest = c.rest[len(s):]
	return true
}

func (c *cursor) want(s string) {
	if !c.have(s) && c.why == "" {
		c.why = s
	}
}

func (c *cursor) int() int64 {
	i := 0
	for i < len(c.rest) && '0' <= c.rest[i] && c.rest[i] <= '9' {
		i++
	}
	n, err := strconv.ParseInt(string(c.rest[:i]), 10, 64)
	if c.why == "" && (err != nil || i > 1 && c.rest[0] == '0') {
		c.why = "a whole number"
	}
	if c.why != "" {
		return 0
	}
	c.rest = c.rest[i:]
	return n
}

// raw reads a string without escapes.
func (c *cursor) raw() []byte {
	if c.why != "" {
		return nil
	}
	if len(c.rest) == 0 || c.rest[0] != '"' {
		c.why = "a string"
		return nil
	}
	end := bytes.IndexByte(c.rest[1:], '"')
	if end < 0 {
		c.why = "a string"
		return nil
	}
	s := c.rest[1 : 1+end]
	c.rest = c.rest[2+end:]
	return s
}

func (c *cursor) digest() Digest {
	before := c.rest
	d, ok := parseDigest(c.raw())
	if !ok && c.why == "" {
		c.rest, c.why = before, "a digest"
	}
	return d
}

func (c *cursor) time() Time {
	before := c.rest
	t, ok := parseTime(c.raw())
	if !ok && c.why == "" {
		c.rest, c.why = before, "an instant"
	}
	return t
}

// text reads any string.
func (c *cursor) text() string {
	if c.why != "" {
		return ""
	}
	if len(c.rest) == 0 || c.rest[0] != '"' {
		c.why = "a string"
		return ""
	}
	escaped, foreign := false, false
	for i := 1; i < len(c.rest); i++ {
		switch ch := c.rest[i]; {
		case ch == '"':
			quoted := c.rest[:i+1]
			if foreign && !utf8.Valid(quoted) {
				c.why = "a string in UTF-8"
				return ""
			}
			if !escaped {
				c.rest = c.rest[i+1:]
				return string(quoted[1:i])
			}
			var s string
			if err := json.Unmarshal(quoted, &s); err != nil {
				c.why = "a string"
				return ""
			}
			c.rest = c.rest[i+1:]
			return s
		case ch == '\\':
			escaped = true
			i++
		case ch < ' ':
			c.why = "a string"
			return ""
		case ch >= 0x80:
			foreign = true
		}
	}
	c.why = "the end of a string"
	return ""
}
