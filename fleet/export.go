package fleet

import (
	"archive/zip"
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"hash"
	"io"
	"slices"
	"strings"

	"underpin/record"
	"underpin/store"
)

// exportFormat is the number of the export's format.
const exportFormat = 1

// The parts of an export, besides one for each document.
const (
	manifestPart = "manifest.json"
	recordsPart  = "records.jsonl"  // each line the bytes of a record as they are stored
	sealsPart    = "seals.jsonl"    // bytes and signature of each seal
	readingsPart = "readings.jsonl" // every reading
	blobFolder   = "documents/"     // by digest
)

// A Manifest says what an export holds, with the digest of each part.
type Manifest struct {
	Export   int         `json:"export"` // the format
	Program  string      `json:"program,omitempty"`
	Made     record.Time `json:"made"`
	Records  int64       `json:"records"`
	Seals    int64       `json:"seals"`
	Readings int64       `json:"readings"`
	Blobs    int64       `json:"documents"`
	Parts    []PartSum   `json:"parts"`
}

// A PartSum is the digest of one part of an export.
type PartSum struct {
	Name   string        `json:"name"`
	Bytes  int64         `json:"bytes"`
	Digest record.Digest `json:"sha256"`
}

type sealLine struct {
	Bytes     string `json:"seal"` // base64 of the bytes as they are stored
	Signature string `json:"signature"`
}

type readingLine struct {
	Vehicle record.Asset `json:"vehicle"`
	Meter   string       `json:"meter"`
	At      record.Time  `json:"at"`
	Metres  int64        `json:"metres"`
	Unit    string       `json:"unit"`
}

// Export writes everything into one file: every record and seal as it is stored,
// every reading, every document, and the digest of each. Passwords, sessions and
// tokens are not in it: whoever signs in from an import does so by a new link.
func (r *Register) Export(ctx context.Context, to io.Writer) error {
	if _, err := r.actor(ctx, Operate); err != nil {
		return err
	}
	x := &exporter{zip: zip.NewWriter(to), m: Manifest{Export: exportFormat, Program: r.world.Program, Made: r.now()}}
	// Seals before records and records before documents: what is read later holds all
	// that was read before names.
	var seals []*record.Seal
	err := r.store.Snapshot(ctx, func(a record.Archive) error {
		for s, err := range a.Seals(ctx) {
			if err != nil {
				return err
			}
			seals = append(seals, s)
		}
		return nil
	})
	if err != nil {
		return err
	}
	if err := x.lines(recordsPart, func(line func([]byte) error) error {
		for rec, err := range r.store.All(ctx) {
			if err != nil {
				return err
			}
			x.m.Records++
			if err := line(rec.Bytes); err != nil {
				return err
			}
		}
		return nil
	}); err != nil {
		return err
	}
	if err := x.lines(sealsPart, func(line func([]byte) error) error {
		for _, s := range seals {
			x.m.Seals++
			b := encoded(sealLine{base64.StdEncoding.EncodeToString(s.Bytes), base64.StdEncoding.EncodeToString(s.Signature)})
			if err := line(b); err != nil {
				return err
			}
		}
		return nil
	}); err != nil {
		return err
	}
	if err := x.lines(readingsPart, func(line func([]byte) error) error {
		for v, err := range r.store.EachReading(ctx) {
			if err != nil {
				return err
			}
			x.m.Readings++
			if err := line(encoded(readingLine{v.Asset, v.Name, v.At, v.Metres, v.Unit})); err != nil {
				return err
			}
		}
		return nil
	}); err != nil {
		return err
	}
	if err := r.exportBlobs(ctx, x); err != nil {
		return err
	}
	w, err := x.zip.Create(manifestPart)
	if err != nil {
		return err
	}
	text, err := json.MarshalIndent(x.m, "", "  ")
	if err != nil {
		return err
	}
	if _, err := w.Write(append(text, '\n')); err != nil {
		return err
	}
	return x.zip.Close()
}

func (r *Register) exportBlobs(ctx context.Context, x *exporter) error {
	var all []record.Digest
	for b, err := range r.store.BlobSizes(ctx) {
		if err != nil {
			return err
		}
		all = append(all, b.Digest)
	}
	for _, d := range all {
		from, err := r.store.Blob(ctx, d)
		if err != nil {
			return err
		}
		x.m.Blobs++
		sum, err := x.part(blobFolder+d.String(), zip.Store, func(w io.Writer) error {
			_, err := io.Copy(w, from)
			return err
		})
		from.Close()
		if err != nil {
			return err
		}
		if sum != d {
			return fmt.Errorf("the document %s was altered: what is there has the digest %s; verify tells which record names it", d, sum)
		}
	}
	return nil
}

// An exporter writes the parts of an export and their digests.
type exporter struct {
	zip *zip.Writer
	m   Manifest
}

func (x *exporter) part(name string, method uint16, fn func(io.Writer) error) (record.Digest, error) {
	w, err := x.zip.CreateHeader(&zip.FileHeader{Name: name, Method: method})
	if err != nil {
		return record.Digest{}, err
	}
	c := &counted{to: w, sum: sha256.New()}
	if err := fn(c); err != nil {
		return record.Digest{}, err
	}
	d := record.Digest(c.sum.Sum(nil))
	x.m.Parts = append(x.m.Parts, PartSum{name, c.n, d})
	return d, nil
}

func (x *exporter) lines(name string, fn func(line func([]byte) error) error) error {
	_, err := x.part(name, zip.Deflate, func(w io.Writer) error {
		b := bufio.NewWriterSize(w, 1<<16)
		err := fn(func(text []byte) error {
			b.Write(text)
			return b.WriteByte('\n')
		})
		if err != nil {
			return err
		}
		return b.Flush()
	})
	return err
}

// counted digests and counts what goes through it.
type counted struct {
	to  io.Writer
	sum hash.Hash
	n   int64
}

func (c *counted) Write(b []byte) (int, error) {
	n, err := c.to.Write(b)
	c.sum.Write(b[:n])
	c.n += int64(n)
	return n, err
}

// An export that is read.
type export struct {
	parts map[string]*zip.File
	m     Manifest
}

// CheckExport holds every part of an export against its digest, and returns what
// it holds.
func CheckExport(from io.ReaderAt, size int64) (*Manifest, error) {
	x, err := openExport(from, size)
	if err != nil {
		return nil, err
	}
	return &x.m, nil
}

func openExport(from io.ReaderAt, size int64) (*export, error) {
	bad := func(where, found, expected string) (*export, error) {
		return nil, invalid("export", where, found, expected)
	}
	z, err := zip.NewReader(from, size)
	if err != nil {
		return bad("file", "a file that is no export, or only a part of one ("+err.Error()+")", "a whole export")
	}
	x := &export{parts: map[string]*zip.File{}}
	for _, f := range z.File {
		if x.parts[f.Name] != nil {
			return bad(f.Name, "a part twice", "each part once")
		}
		x.parts[f.Name] = f
	}
	m := x.parts[manifestPart]
	if m == nil {
		return bad(manifestPart, "nothing", "the list of what the export holds")
	}
	text, err := readAll(m, 1<<28)
	if err != nil {
		return nil, err
	}
	dec := json.NewDecoder(bytes.NewReader(text))
	if err := dec.Decode(&x.m); err != nil {
		return bad(manifestPart, err.Error(), "the list of what the export holds")
	}
	if x.m.Export != exportFormat {
		return bad(manifestPart, fmt.Sprintf("format %d", x.m.Export), fmt.Sprintf("format %d; a later program wrote it", exportFormat))
	}
	if len(x.m.Parts)+1 != len(x.parts) {
		return bad(manifestPart, fmt.Sprintf("%d parts listed and %d there", len(x.m.Parts), len(x.parts)-1), "each part listed, and no other")
	}
	for _, p := range x.m.Parts {
		f := x.parts[p.Name]
		if f == nil {
			return bad(p.Name, "nothing", "a part that is listed")
		}
		r, err := f.Open()
		if err != nil {
			return bad(p.Name, err.Error(), "a part that can be read")
		}
		c := &counted{to: io.Discard, sum: sha256.New()}
		_, err = io.Copy(c, io.LimitReader(r, p.Bytes+1))
		r.Close()
		if err != nil {
			return bad(p.Name, err.Error(), "a part that can be read")
		}
		if d := record.Digest(c.sum.Sum(nil)); d != p.Digest || c.n != p.Bytes {
			return bad(p.Name, "the digest "+d.String(), p.Digest.String()+": the file was altered or damaged")
		}
		if d, blob := strings.CutPrefix(p.Name, blobFolder); blob && d != p.Digest.String() {
			return bad(p.Name, "another document, "+p.Digest.String(), "the document of that digest")
		}
	}
	for _, name := range []string{recordsPart, sealsPart, readingsPart} {
		if x.parts[name] == nil {
			return bad(name, "nothing", "a part that every export has")
		}
	}
	return x, nil
}

func readAll(f *zip.File, most int64) ([]byte, error) {
	r, err := f.Open()
	if err != nil {
		return nil, err
	}
	defer r.Close()
	b, err := io.ReadAll(io.LimitReader(r, most+1))
	if err == nil && int64(len(b)) > most {
		err = invalid("export", f.Name, "more than can be", fmt.Sprintf("at most %d bytes", most))
	}
	return b, err
}

// importing is the setting that holds which export is being brought in.
const importing = "importing"

// ImportAll brings a whole export into an empty store: every record and seal as it
// was, and all state anew from them. It may be started again with the same file
// when it broke off. What is there in the end is verified.
func (r *Register) ImportAll(ctx context.Context, from io.ReaderAt, size int64) (*record.Report, error) {
	actor, err := r.actor(ctx, Operate)
	if err != nil {
		return nil, err
	}
	x, err := openExport(from, size)
	if err != nil {
		return nil, err
	}
	name := record.DigestOf(encoded(x.m)).String()
	begun, err := r.store.Setting(ctx, importing)
	if err != nil {
		return nil, err
	}
	if begun != name {
		heads, err := r.store.Heads(ctx)
		if err != nil {
			return nil, err
		}
		if len(heads) > 0 || begun != "" {
			return nil, invalid("", "store", fmt.Sprintf("%d chains of records", len(heads)), "an empty store, or one in which bringing in this very file broke off")
		}
		if err := r.store.PutSetting(ctx, importing, name); err != nil {
			return nil, err
		}
	}
	for _, step := range []func(context.Context, *export, *Actor) error{r.importBlobs, r.importRecords, r.importSeals, r.importReadings} {
		if err := step(ctx, x, actor); err != nil {
			return nil, err
		}
	}
	if err := rebuild(ctx, r.store); err != nil {
		return nil, err
	}
	report, err := verify(ctx, r.store, nil)
	if err != nil || !report.Sound() {
		return report, err
	}
	return report, r.store.PutSetting(ctx, importing, "")
}

func (r *Register) importBlobs(ctx context.Context, x *export, _ *Actor) error {
	for _, p := range x.m.Parts {
		if !strings.HasPrefix(p.Name, blobFolder) {
			continue
		}
		from, err := x.parts[p.Name].Open()
		if err != nil {
			return err
		}
		_, _, err = r.store.PutBlob(ctx, from)
		from.Close()
		if err != nil {
			return err
		}
	}
	return nil
}

func (x *export) each(name string, fn func(line []byte) error) error {
	from, err := x.parts[name].Open()
	if err != nil {
		return err
	}
	defer from.Close()
	lines := bufio.NewScanner(from)
	lines.Buffer(make([]byte, 1<<16), 64<<20)
	for lines.Scan() {
		if err := fn(lines.Bytes()); err != nil {
			return err
		}
	}
	return lines.Err()
}

func (r *Register) importRecords(ctx context.Context, x *export, _ *Actor) error {
	var batch []*record.Record
	put := func() error {
		if len(batch) == 0 {
			return nil
		}
		_, err := r.store.Append(ctx, store.Batch{Records: batch})
		batch = nil
		return err
	}
	n := 0
	err := x.each(recordsPart, func(line []byte) error {
		n++
		rec, err := record.Decode(slices.Clone(line))
		if err == nil {
			err = rec.Check()
		}
		if err != nil {
			return fmt.Errorf("%s, line %d: %w", recordsPart, n, err)
		}
		if batch = append(batch, rec); len(batch) == batchRows {
			return put()
		}
		return nil
	})
	if err != nil {
		return err
	}
	return put()
}

func (r *Register) importSeals(ctx context.Context, x *export, _ *Actor) error {
	last, err := r.store.LastSeal(ctx)
	if err != nil {
		return err
	}
	return x.each(sealsPart, func(line []byte) error {
		var l sealLine
		if err := json.Unmarshal(line, &l); err != nil {
			return fmt.Errorf("%s: %w", sealsPart, err)
		}
		text, err := base64.StdEncoding.DecodeString(l.Bytes)
		if err != nil {
			return fmt.Errorf("%s: %w", sealsPart, err)
		}
		signature, err := base64.StdEncoding.DecodeString(l.Signature)
		if err != nil {
			return fmt.Errorf("%s: %w", sealsPart, err)
		}
		s, err := record.OpenSeal(text, signature)
		if err != nil {
			return fmt.Errorf("%s: %w", sealsPart, err)
		}
		if last != nil && s.Number <= last.Number {
			return nil // of the time before it broke off
		}
		return r.store.AddSeal(ctx, s)
	})
}

func (r *Register) importReadings(ctx context.Context, x *export, actor *Actor) error {
	const some = 10_000
	var batch []store.Reading
	n := 0
	put := func() error {
		if len(batch) == 0 {
			return nil
		}
		id, err := r.newID()
		if err != nil {
			return err
		}
		n++
		_, err = r.store.AddReadings(ctx, store.Import{ID: id, Entered: r.now(), Who: actor.Who, Source: fmt.Sprintf("export of %s, part %d", day(x.m.Made), n)}, batch)
		batch = batch[:0]
		return err
	}
	err := x.each(readingsPart, func(line []byte) error {
		var l readingLine
		if err := json.Unmarshal(line, &l); err != nil {
			return fmt.Errorf("%s: %w", readingsPart, err)
		}
		batch = append(batch, store.Reading{Meter: store.Meter{Asset: l.Vehicle, Name: l.Meter}, Reading: record.Reading{At: l.At, Metres: l.Metres}, Unit: l.Unit})
		if len(batch) == some {
			return put()
		}
		return nil
	})
	if err != nil {
		return err
	}
	return put()
}
