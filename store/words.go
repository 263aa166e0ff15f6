package store

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// What is found by what is compared in a normal form that both engines compare
// alike: small letters and digits only, accents off, two blanks before each word
// and at the end. So a word of one letter with its blanks is three characters, which
// is what both engines index, and one index serves short and long. Each line of a text is a field; a field of several words
// stands once more as one word, so that OS-HE 7 is found by oshe7.

// normal is the normal form of a text.
func normal(text string) string {
	var b strings.Builder
	for line := range strings.Lines(text) {
		words := strings.Fields(line)
		kept := 0
		for _, w := range words {
			if w = compact(w); w != "" {
				b.WriteString("  ")
				b.WriteString(w)
				kept++
			}
		}
		if whole := compact(line); kept > 1 && len(whole) <= 40 {
			b.WriteString("  ")
			b.WriteString(whole)
		}
	}
	if b.Len() > 0 {
		b.WriteString("  ")
	}
	return b.String()
}

// compact is a text as one word.
func compact(text string) string {
	var b strings.Builder
	for _, c := range text {
		c = unicode.ToLower(c)
		if plain, accented := plainLetters[c]; accented {
			b.WriteString(plain)
		} else if unicode.IsLetter(c) || unicode.IsDigit(c) {
			b.WriteRune(c)
		}
	}
	return b.String()
}

// typed takes apart what somebody typed into the field.
func typed(text string) []string {
	var words []string
	for _, w := range strings.Fields(text) {
		if w = compact(w); w != "" {
			words = append(words, w)
		}
	}
	return words
}

// sought is what a text in normal form must hold for a word: the word itself, or
// when it is short a word that begins with it.
func sought(word string) string {
	if utf8.RuneCountInString(word) < 3 {
		return "  " + word
	}
	return word
}

// plainLetters are the accented letters of the languages of Europe in Latin
// script, small, and how people type them without accents.
var plainLetters = func() map[rune]string {
	table := map[string]string{
		"a": "àáâãäåāăą", "ae": "æ", "c": "çćĉċč", "d": "ďđð", "e": "èéêëēĕėęě", "g": "ĝğġģ", "h": "ĥħ", "i": "ìíîïĩīĭįı",
		"j": "ĵ", "k": "ķ", "l": "ĺļľŀł", "n": "ñńņňŋ", "o": "òóôõöøōŏő", "oe": "œ", "r": "ŕŗř", "s": "śŝşšș", "ss": "ß",
		"t": "ţťŧț", "th": "þ", "u": "ùúûüũūŭůűų", "w": "ŵ", "y": "ýÿŷ", "z": "źżž",
	}
	m := map[rune]string{}
	for plain, letters := range table {
		for _, c := range letters {
			m[c] = plain
		}
	}
	return m
}()
