package exchange

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"underpin/tomlfile"
	"underpin/vehicle"
)

// OpenFleet reads a fleet in whatever form it is in: TOML, a workbook (.xlsx),
// JSON or a folder of CSV files. What follows from the weighbridge tickets is not
// filled in, so that it is never taken for given. The error is Problems, which
// then lists everything, or what ReadFleet returns; the fleet is what has no
// problem.
func OpenFleet(path string) (*vehicle.Fleet, error) {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		files, problem := readFolder(path)
		if problem != nil {
			return new(vehicle.Fleet), Problems{problem}
		}
		f, problems := ParseCSV[vehicle.Fleet](path, files)
		return f, problems.orNil()
	}
	switch strings.ToLower(filepath.Ext(path)) {
	case ".xlsx", ".xlsm":
		data, problem := readFile(path, MaxSheet)
		if problem != nil {
			return new(vehicle.Fleet), Problems{problem}
		}
		f, problems := ParseWorkbook[vehicle.Fleet](path, data)
		return f, problems.orNil()
	case ".json":
		data, problem := readFile(path, MaxSheet)
		if problem != nil {
			return new(vehicle.Fleet), Problems{problem}
		}
		f, problems := ParseJSON[vehicle.Fleet](path, data)
		return f, problems.orNil()
	case ".toml":
		return openTOML(path)
	}
	return new(vehicle.Fleet), Problems{{File: path, Found: "a file of another kind", Expected: "a fleet as .toml, .xlsx or .json, or a folder of CSV files"}}
}

func openTOML(path string) (*vehicle.Fleet, error) {
	data, err := tomlfile.Read(path, "a fleet file")
	if err != nil {
		return new(vehicle.Fleet), err
	}
	var f vehicle.Fleet
	places, err := tomlfile.Decode(path, data, &f)
	if err != nil {
		return new(vehicle.Fleet), err
	}
	var bad Invalid
	for _, e := range wrongs(&f) {
		bad = append(bad, places.Error(e.Path, e.Found, e.Expected))
	}
	if bad != nil {
		return new(vehicle.Fleet), bad
	}
	return &f, nil
}

// readFile reads a file of at most so many bytes.
func readFile(path string, most int64) ([]byte, *Problem) {
	fail := func(found string) ([]byte, *Problem) {
		return nil, &Problem{File: path, Found: found, Expected: fmt.Sprintf("a file that can be read, of at most %d MB", most>>20)}
	}
	f, err := os.Open(path)
	if err != nil {
		return fail("no file that can be opened (" + cause(err) + ")")
	}
	defer f.Close()
	if info, err := f.Stat(); err == nil && info.Size() > most {
		return fail(fmt.Sprintf("%.1f MB", float64(info.Size())/(1<<20)))
	}
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	switch {
	case err != nil:
		return fail("a file that cannot be read (" + cause(err) + ")")
	case int64(len(data)) > most:
		return fail(fmt.Sprintf("more than %d bytes", most))
	}
	return data, nil
}

func cause(err error) string {
	if pe, is := err.(*os.PathError); is {
		return pe.Err.Error()
	}
	return err.Error()
}

// readFolder reads the CSV files of a folder, all together no larger than one may
// be.
func readFolder(folder string) (map[string][]byte, *Problem) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, &Problem{File: folder, Found: "a folder that cannot be read (" + cause(err) + ")", Expected: "a folder of CSV files"}
	}
	files, left := map[string][]byte{}, int64(MaxSheet)
	for _, e := range entries {
		if e.IsDir() || !strings.EqualFold(filepath.Ext(e.Name()), ".csv") {
			continue
		}
		path := filepath.Join(folder, e.Name())
		data, problem := readFile(path, left)
		if problem != nil {
			return nil, problem
		}
		files[path], left = data, left-int64(len(data))
	}
	return files, nil
}

// SaveFleet writes a fleet in the form that the name asks for: .toml, .xlsx,
// .json, else a folder of CSV files. A file is written whole or not at all.
func SaveFleet(path string, f *vehicle.Fleet) error { return SaveTables(path, f) }

func isFolder(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir() || strings.HasSuffix(path, "/") || strings.HasSuffix(path, string(filepath.Separator))
}

// WriteWhole writes files so that none is ever half-written: each is written
// beside its place first, and none takes its place before all are on the disk.
func WriteWhole(files map[string][]byte) error {
	ready := map[string]string{}
	defer func() {
		for _, temporary := range ready {
			os.Remove(temporary) // of those that have not taken their place
		}
	}()
	for path, data := range files {
		f, err := os.CreateTemp(filepath.Dir(path), ".underpin-*")
		if err != nil {
			return err
		}
		ready[path] = f.Name()
		_, err = f.Write(data)
		if err == nil {
			err = f.Chmod(modeOf(path))
		}
		if err == nil {
			err = f.Sync()
		}
		if closed := f.Close(); err == nil {
			err = closed
		}
		if err != nil {
			return err
		}
	}
	for path, temporary := range ready {
		if err := os.Rename(temporary, path); err != nil {
			return err
		}
		delete(ready, path)
	}
	return nil
}

// modeOf is how a file may be used: as the one whose place it takes.
func modeOf(path string) os.FileMode {
	if info, err := os.Stat(path); err == nil {
		return info.Mode().Perm()
	}
	return 0o644
}
