package yard

import (
	"strconv"
	"strings"

	"underpin/record"
)

// A Language is one that the yard speaks.
type Language string

const (
	English Language = "en"
	German  Language = "de"
)

// columns says in which column of a row each language stands.
var columns = map[Language]int{English: 0, German: 1}

// Languages lists what the yard speaks, English first.
func Languages() []Language { return []Language{English, German} }

// A Key names a text in all languages.
type Key string

// A row is one text in every language, by column.
type row struct {
	key  Key
	text [2]string
}

// texts finds each row.
var texts = func() map[Key]*[2]string {
	all := map[Key]*[2]string{}
	for _, rows := range [][]row{stepWords, whyWords, sayWords, judgeWords, senseWords, briefWords, talkWords} {
		for i := range rows {
			all[rows[i].key] = &rows[i].text
		}
	}
	return all
}()

// Catalogue is every text in a language, for a phone that has no signal.
func Catalogue(l Language) map[Key]string {
	all := make(map[Key]string, len(texts))
	for k := range texts {
		all[k] = k.In(l)
	}
	return all
}

// In is the text of the key, or nothing where there is none. A language that is
// not spoken here gets English.
func (k Key) In(l Language) string {
	t, ok := texts[k]
	if !ok {
		return ""
	}
	return t[columns[l]]
}

// An Arg is a value in a message: a text of its own, or written out.
type Arg struct {
	Key  Key    `json:"key,omitempty"`
	Text string `json:"text,omitempty"`
}

// A Message is a text with values put in: {1} stands for the first.
type Message struct {
	Key  Key   `json:"key"`
	Args []Arg `json:"args,omitempty"`
}

// In is the message in a language.
func (m Message) In(l Language) string {
	s := m.Key.In(l)
	if len(m.Args) == 0 {
		return s
	}
	pairs := make([]string, 0, 2*len(m.Args))
	for i, a := range m.Args {
		word := a.Text
		if a.Key != "" {
			word = a.Key.In(l)
		}
		pairs = append(pairs, "{"+strconv.Itoa(i+1)+"}", word)
	}
	return strings.NewReplacer(pairs...).Replace(s)
}

func (m Message) String() string { return m.In(English) }

// none tells whether there is no message.
func (m Message) none() bool { return m.Key == "" }

// say is a message with written values.
func say(k Key, args ...string) Message {
	m := Message{Key: k}
	for _, a := range args {
		m.Args = append(m.Args, Arg{Text: a})
	}
	return m
}

// sayKeys is a message whose values are texts.
func sayKeys(k Key, args ...Key) Message {
	m := Message{Key: k}
	for _, a := range args {
		m.Args = append(m.Args, Arg{Key: a})
	}
	return m
}

// validate refuses a message that did not come from here.
func (m Message) validate(field string) error {
	if m.none() && len(m.Args) == 0 {
		return nil
	}
	known := func(k Key) bool { _, ok := texts[k]; return ok }
	if !known(m.Key) || len(m.Args) > 9 {
		return &record.RuleError{Field: field, Found: short(string(m.Key)), Want: "a text of the yard"}
	}
	for _, a := range m.Args {
		if err := first(must(field, string(a.Key), a.Key == "" || known(a.Key), "a text of the yard"), plain(field, a.Text, MaxWords, false)); err != nil {
			return err
		}
	}
	return nil
}
