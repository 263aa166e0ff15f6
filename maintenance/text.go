package maintenance

import "strings"

// A Text is a sentence or a name for people, in English, with the key that
// translations go by.
type Text struct {
	Key     string
	English string
}

// In is the text in the language of words, which go by key; English where they
// have none.
func (t Text) In(words map[string]string) string {
	if s, ok := words[t.Key]; ok {
		return s
	}
	return t.English
}

// A Message is a text with values put in: {1} stands for the first.
type Message struct {
	Text Text
	Args []string
}

// In is the message in the language of words.
func (m Message) In(words map[string]string) string {
	s := m.Text.In(words)
	if len(m.Args) == 0 {
		return s
	}
	pairs := make([]string, 0, 2*len(m.Args))
	for i, a := range m.Args {
		pairs = append(pairs, "{"+string(rune('1'+i))+"}", a)
	}
	return strings.NewReplacer(pairs...).Replace(s)
}

func (m Message) String() string { return m.In(nil) }

// keyed gives lines under one key their own keys: key.1, key.2 and so on.
func keyed(key string, lines ...string) []Text {
	out := make([]Text, len(lines))
	for i, l := range lines {
		out[i] = Text{key + "." + itoa(i+1), l}
	}
	return out
}
