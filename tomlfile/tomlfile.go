// Package tomlfile reads TOML files that people write by hand: fleet files and
// rulebooks. It refuses what it does not know, and every error says where, what
// was found and what was expected.
//
// The types that a file is read into say what it may hold. Each key is the name
// in a field's toml tag, in exactly these letters, or the field's name in small
// letters where there is no tag. A type that reads text (encoding.TextUnmarshaler)
// is a quantity and stands in quotes with its unit: a bare number is refused
// there, because nobody can see what it counts.
package tomlfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"reflect"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
)

// MaxSize is the largest file that is read. A fleet of some thousand vehicles
// stays well below it; what is larger is not a file of this kind.
const MaxSize = 8 << 20

// ByteOrderMark is what some editors write ahead of UTF-8. It says nothing, and is
// passed over.
var ByteOrderMark = []byte("\ufeff")

// A Date is a day without time or zone, as TOML writes it: 2024-05-31.
type Date = toml.LocalDate

// An Error is one thing wrong in a file.
type Error struct {
	File      string
	Line, Col int // from 1, in characters; 0 when the place is the whole file
	Found     string
	Expected  string
}

func (e *Error) Error() string {
	return fmt.Sprintf("%s: found %s; expected %s", e.Where(), e.Found, e.Expected)
}

// Where returns file:line:column.
func (e *Error) Where() string {
	if e.Line == 0 {
		return e.File
	}
	return fmt.Sprintf("%s:%d:%d", e.File, e.Line, e.Col)
}

// Read returns the bytes of a file of at most MaxSize. The noun says in errors
// what should have been there: "a fleet file". The error is an *Error.
func Read(path, noun string) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, &Error{File: path, Found: "no file that can be opened (" + cause(err) + ")", Expected: noun}
	}
	defer f.Close()
	// One byte more than is allowed, since not everything that can be opened
	// knows its size.
	data, err := io.ReadAll(io.LimitReader(f, MaxSize+1))
	if err != nil {
		return nil, &Error{File: path, Found: "a file that cannot be read (" + cause(err) + ")", Expected: noun}
	}
	if len(data) > MaxSize {
		size := int64(len(data))
		if info, err := f.Stat(); err == nil {
			size = max(size, info.Size())
		}
		return nil, tooLarge(path, noun, size)
	}
	return data, nil
}

func cause(err error) string {
	var pe *os.PathError
	if errors.As(err, &pe) {
		return pe.Err.Error()
	}
	return err.Error()
}

func tooLarge(path, noun string, size int64) *Error {
	found := fmt.Sprintf("a file of %.1f MB", float64(size)/(1<<20))
	if size <= MaxSize+1<<20/20 { // would be printed as the size that is allowed
		found = fmt.Sprintf("a file of more than %d bytes", MaxSize)
	}
	return &Error{File: path, Found: found, Expected: fmt.Sprintf("%s of at most %d MB", noun, MaxSize>>20)}
}

// Decode reads data into dst, a pointer to a struct, and tells where in the file
// each value stands. It refuses what is too large or not UTF-8, a key that dst
// does not have, a value of another kind than dst holds, and a key given twice.
// The error, if any, is an *Error.
func Decode(file string, data []byte, dst any) (*Places, error) {
	size := int64(len(data))
	data = bytes.TrimPrefix(data, ByteOrderMark)
	p := &Places{file: file, data: data, root: &node{value: -1}}
	if size > MaxSize {
		return nil, tooLarge(file, "a file", size)
	}
	if at := notUTF8(data); at >= 0 {
		return nil, p.at(at, fmt.Sprintf("the byte 0x%02X", data[at]), "text in UTF-8")
	}
	w := walker{Places: p}
	if err := w.walk(reflect.TypeOf(dst).Elem()); err != nil {
		return nil, err
	}
	// What the walk has let pass is wrong only in ways that TOML itself forbids.
	dec := toml.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(dst); err != nil {
		return nil, p.decodeError(err)
	}
	return p, nil
}

// notUTF8 returns the offset of the first byte that is not UTF-8, or -1.
func notUTF8(data []byte) int {
	if utf8.Valid(data) {
		return -1
	}
	at := 0
	for at < len(data) {
		r, n := utf8.DecodeRune(data[at:])
		if r == utf8.RuneError && n == 1 {
			break
		}
		at += n
	}
	return at
}

// decodeError words what the TOML decoder found, whose columns count bytes.
func (p *Places) decodeError(err error) *Error {
	var strict *toml.StrictMissingError
	var de *toml.DecodeError
	if errors.As(err, &strict) && len(strict.Errors) > 0 {
		de = &strict.Errors[0]
	} else if !errors.As(err, &de) {
		return p.at(0, notTOML(strings.TrimPrefix(err.Error(), "toml: ")), "valid TOML")
	}
	line, column := de.Position()
	offset := 0
	for ; line > 1; line-- {
		offset += bytes.IndexByte(p.data[offset:], '\n') + 1
	}
	return p.at(offset+column-1, notTOML(strings.TrimPrefix(de.Error(), "toml: ")), "valid TOML")
}

func notTOML(why string) string { return "text that is not TOML (" + why + ")" }
