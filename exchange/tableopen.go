package exchange

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"underpin/tomlfile"
)

// OpenTables reads the tables of a file's type, such as Register, in whatever form
// they are in: TOML, a workbook (.xlsx), JSON or a folder of CSV files. The result
// holds what has no problem; the places tell where its fields stand.
func OpenTables[T any](path string) (*T, Places, Problems) {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		files, problem := readFolder(path)
		if problem != nil {
			return new(T), nil, Problems{problem}
		}
		r, problems, places := parseCSV[T](path, files)
		return r, places, problems
	}
	switch strings.ToLower(filepath.Ext(path)) {
	case ".xlsx", ".xlsm":
		data, problem := readFile(path, MaxSheet)
		if problem != nil {
			return new(T), nil, Problems{problem}
		}
		r, problems, places := parseWorkbook[T](path, data)
		return r, places, problems
	case ".json":
		data, problem := readFile(path, MaxSheet)
		if problem != nil {
			return new(T), nil, Problems{problem}
		}
		r, problems, places := parseJSON[T](path, data)
		return r, places, problems
	case ".toml":
		return openTablesTOML[T](path)
	}
	return new(T), nil, Problems{{File: path, Found: "a file of another kind", Expected: "the tables of a register as .toml, .xlsx or .json, or a folder of CSV files"}}
}

// openTablesTOML reads all of a hand-written file or nothing.
func openTablesTOML[T any](path string) (*T, Places, Problems) {
	told := func(e *tomlfile.Error) *Problem {
		return &Problem{File: e.File, Row: e.Line, Col: e.Col, Found: e.Found, Expected: e.Expected}
	}
	data, err := tomlfile.Read(path, "a fleet file")
	if err != nil {
		return new(T), nil, Problems{told(err.(*tomlfile.Error))}
	}
	var v T
	at, err := tomlfile.Decode(path, data, &v)
	if err != nil {
		return new(T), nil, Problems{told(err.(*tomlfile.Error))}
	}
	var problems Problems
	if file, can := any(&v).(sound); can {
		for _, e := range wrongs(file) {
			problems = append(problems, told(at.Error(e.Path, e.Found, e.Expected)))
		}
	}
	if problems != nil {
		return new(T), nil, problems
	}
	return &v, func(path string) Problem {
		p := told(at.Error(path, "", ""))
		p.Column = path[strings.LastIndexByte(path, '.')+1:]
		return *p
	}, nil
}

// SaveTables writes tables in the form that the name asks for: .toml, .xlsx, .json,
// else a folder of CSV files. A file is written whole or not at all. OpenTables reads
// it back unchanged.
func SaveTables(path string, file any) error {
	switch ext := strings.ToLower(filepath.Ext(path)); {
	case isFolder(path), ext == "":
		files, err := WriteCSV(file)
		if err != nil {
			return err
		}
		return writeFolder(path, files)
	case ext == ".toml":
		return writeOne(path)(writeTOML(file))
	case ext == ".xlsx":
		return writeOne(path)(WriteWorkbook(file))
	case ext == ".json":
		return writeOne(path)(WriteJSON(file))
	default:
		return Problems{{File: path, Found: "the ending " + ext, Expected: "a name that ends in .toml, .xlsx or .json, or the name of a folder for CSV files"}}
	}
}

func writeOne(path string) func([]byte, error) error {
	return func(data []byte, err error) error {
		if err != nil {
			return err
		}
		return WriteWhole(map[string][]byte{path: data})
	}
}

// writeFolder writes files into a folder, which is made where it is not there.
func writeFolder(path string, files map[string][]byte) error {
	if err := os.MkdirAll(path, 0o777); err != nil {
		return err
	}
	whole := map[string][]byte{}
	for name, data := range files {
		whole[filepath.Join(path, name)] = data
	}
	return WriteWhole(whole)
}

func writeTOML(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := toml.NewEncoder(&b)
	enc.SetIndentTables(false)
	if err := enc.Encode(v); err != nil {
		return nil, fmt.Errorf("what cannot be written as TOML: %w", err)
	}
	return b.Bytes(), nil
}
