package fleet

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"image"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"underpin/record"
	"underpin/store"
)

func picturePNG(t testing.TB, w, h int) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, w, h))); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestUploads(t *testing.T) {
	y := newYard(t)
	whole := picturePNG(t, 40, 30)
	tests := []struct {
		name, content, media, found string
	}{
		{"a picture", string(whole), "image/png", ""},
		{"a paper", "%PDF-1.7\n", "application/pdf", ""},
		{"nothing", "", "", "nothing"},
		{"half a picture", string(whole[:20]), "", "cannot be opened"},
		{"a page", "<html><script>", "", "another kind"},
		{"a drawing with script", `<svg xmlns="http://www.w3.org/2000/svg">`, "", "another kind"},
		{"a large one", "%PDF-" + strings.Repeat("x", MaxDocument), "", "more than 25 MB"},
	}
	for _, test := range tests {
		u, err := y.Upload(y.ctx, strings.NewReader(test.content))
		switch {
		case test.found == "" && (err != nil || u.Media != test.media || u.Bytes != int64(len(test.content))):
			t.Errorf("%s: %+v, %v", test.name, u, err)
		case test.found != "" && (err == nil || !strings.Contains(err.Error(), test.found)):
			t.Errorf("%s: %v, expected %q", test.name, err, test.found)
		}
	}
	a := y.tractor("heron-07")
	u, err := y.Upload(y.ctx, bytes.NewReader(whole))
	if err != nil {
		t.Fatal(err)
	}
	y.must(&Attach{Asset: a, Title: "Plate", Sort: "plate", Name: "plate.png", File: *u})
	docs := y.vehiclePage(a).Vehicle.Documents
	if len(docs) != 1 || docs[0].Media != "image/png" {
		t.Fatalf("documents: %+v", docs)
	}
	f, err := y.Document(y.ctx, docs[0].Blob)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if got, err := io.ReadAll(f); err != nil || !bytes.Equal(got, whole) {
		t.Errorf("%d bytes, %v", len(got), err)
	}
	if p := y.wrong(&Attach{Asset: a, Title: "T", Sort: "photo", File: Upload{Blob: record.DigestOf([]byte("never put")), Media: "image/png"}}); p.Where != "blob" {
		t.Errorf("a document that was never uploaded: %v", p)
	}
	if p := y.wrong(&Attach{Asset: a, Title: "T", Sort: "hat", File: *u}); p.Where != "sort" {
		t.Errorf("an unknown sort: %v", p)
	}
}

func TestSealsAndKeys(t *testing.T) {
	y := newYard(t)
	private, public, err := y.NewSealKey()
	if err != nil {
		t.Fatal(err)
	}
	key, err := ReadSealKey(private)
	if err != nil {
		t.Fatal(err)
	}
	open, err := ReadPublicKey(public)
	if err != nil || !open.Equal(key.Public()) {
		t.Fatalf("the public key: %v", err)
	}
	if both, err := ReadPublicKey(private); err != nil || !both.Equal(open) {
		t.Errorf("the private file as a public key: %v", err)
	}
	if _, err := ReadSealKey(public); err == nil {
		t.Error("a public key signs")
	}
	if _, err := ReadPublicKey([]byte("no key")); err == nil {
		t.Error("no key passed")
	}
	if _, _, err := y.Seal(y.ctx, key); err == nil {
		t.Error("nothing was sealed")
	}
	y.tractor("heron-07")
	s, fresh, err := y.Seal(y.ctx, key)
	if err != nil || !fresh || s.Number != 1 || s.Records != 1 {
		t.Fatalf("%+v, %v, %v", s, fresh, err)
	}
	if s, fresh, err := y.Seal(y.ctx, key); err != nil || fresh || s.Number != 1 {
		t.Errorf("nothing moved: seal %d, fresh %v, %v", s.Number, fresh, err)
	}
	y.wheel("FW 1")
	report, err := y.Verify(y.ctx, open)
	if err != nil || !report.Sound() || !report.Trusted || report.Unsealed != 1 {
		t.Errorf("%+v, %v", report, err)
	}
	_, other, err := y.NewSealKey()
	if err != nil {
		t.Fatal(err)
	}
	stranger, err := ReadPublicKey(other)
	if err != nil {
		t.Fatal(err)
	}
	if report, err := y.Verify(y.ctx, stranger); err != nil || report.Sound() {
		t.Errorf("another's key: %+v, %v", report, err)
	}
}

func TestNights(t *testing.T) {
	y := newYard(t) // five in the morning
	y.tractor("heron-07")
	private, _, err := y.NewSealKey()
	if err != nil {
		t.Fatal(err)
	}
	key, err := ReadSealKey(private)
	if err != nil {
		t.Fatal(err)
	}
	other := New(y.store, y.world) // a second copy of the program
	ran := func(want int) {
		t.Helper()
		n := 0
		for _, r := range []*Register{y.Register, other, y.Register} {
			did, err := r.NightlyOnce(y.ctx, Night{Key: key})
			if err != nil {
				t.Fatal(err)
			}
			if did {
				n++
			}
		}
		if n != want {
			t.Errorf("%s: the nightly work was done %d times, expected %d", y.clock.Now(), n, want)
		}
	}
	ran(1)
	y.clock.pass(20 * time.Hour)
	ran(0) // one in the morning
	y.clock.pass(2 * time.Hour)
	ran(1)
	if s, err := y.store.LastSeal(y.ctx); err != nil || s == nil || s.Number != 1 {
		t.Errorf("seal %+v, %v", s, err)
	}
	// Whoever may do nothing himself does not stop it, and who is signed in does not
	// matter.
	y.clock.pass(24 * time.Hour)
	y.wheel("FW 1")
	if did, err := y.NightlyOnce(t.Context(), Night{Key: key}); err != nil || !did {
		t.Errorf("%v, %v", did, err)
	}
	if s, err := y.store.LastSeal(y.ctx); err != nil || s.Number != 2 {
		t.Errorf("seal %+v, %v", s, err)
	}
	// A copy that dies with the work in hand loses it to the next.
	y.clock.pass(24 * time.Hour)
	day := y.clock.Now().Format("2006-01-02")
	if _, err := y.store.Enqueue(y.ctx, store.Job{Kind: nightlyJob, Key: day, RunAt: y.now()}); err != nil {
		t.Fatal(err)
	}
	if j, err := y.store.Claim(y.ctx, []string{nightlyJob}, y.now(), y.now()+nightlyLease); err != nil || j == nil {
		t.Fatal(err)
	}
	ran(0)
	y.clock.pass(31 * time.Minute)
	ran(1)
	ctx, cancel := context.WithCancel(y.ctx)
	cancel()
	y.RunNights(ctx, Night{}) // ends with its context
}

// filled is a yard with something of everything in it.
func filled(t testing.TB) *yard {
	y := newYard(t)
	y.first()
	tractor, trailer := y.tractor("heron-07"), y.trailer("teal-23")
	y.must(&FitPart{Part: y.wheel("FW 1"), Vehicle: tractor, Reading: odo(1)})
	y.must(&Couple{Towed: trailer, By: tractor})
	y.enter(Readings{Rows: y.daily("heron-07", 5, 1000, 500)})
	u, err := y.Upload(y.ctx, bytes.NewReader(picturePNG(t, 4, 3)))
	if err != nil {
		t.Fatal(err)
	}
	y.must(&Attach{Asset: tractor, Title: "Plate", Sort: "plate", File: *u})
	private, _, err := y.NewSealKey()
	if err != nil {
		t.Fatal(err)
	}
	key, err := ReadSealKey(private)
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if _, _, err := y.Seal(y.ctx, key); err != nil {
			t.Fatal(err)
		}
		y.must(&Uncouple{Towed: trailer})
		y.must(&Couple{Towed: trailer, By: tractor})
	}
	return y
}

func TestExportAndImport(t *testing.T) {
	y := filled(t)
	var file bytes.Buffer
	if err := y.Export(y.ctx, &file); err != nil {
		t.Fatal(err)
	}
	m, err := CheckExport(bytes.NewReader(file.Bytes()), int64(file.Len()))
	if err != nil || m.Seals != 2 || m.Readings != 5 || m.Blobs != 1 || m.Program != "test" {
		t.Fatalf("%+v, %v", m, err)
	}
	there := newYard(t)
	there.clock.pass(time.Hour)
	report, err := there.ImportAll(there.ctx, bytes.NewReader(file.Bytes()), int64(file.Len()))
	if err != nil || !report.Sound() || report.Seals != 2 {
		t.Fatalf("%+v, %v", report, err)
	}
	if diff := cmp.Diff(y.picture(), there.picture()); diff != "" {
		t.Errorf("brought in: %s", diff)
	}
	var a, b []store.Reading
	for _, side := range []struct {
		y    *yard
		into *[]store.Reading
	}{{y, &a}, {there, &b}} {
		for r, err := range side.y.store.EachReading(y.ctx) {
			if err != nil {
				t.Fatal(err)
			}
			*side.into = append(*side.into, r)
		}
	}
	if diff := cmp.Diff(a, b); diff != "" {
		t.Errorf("readings: %s", diff)
	}
	if _, err := there.ImportAll(there.ctx, bytes.NewReader(file.Bytes()), int64(file.Len())); err == nil {
		t.Error("brought in twice")
	}
	// The register goes on from there, and its people come back by a link.
	there.tractor("heron-08")
	ann, err := there.AccountOf(there.ctx, "ann")
	if err != nil {
		t.Fatal(err)
	}
	link, err := there.NewLink(there.ctx, ann)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := there.Redeem(there.ctx, link, "", "", goodPassword, SignIn{}); err != nil {
		t.Error(err)
	}
}

// TestExportThatWasAltered: whatever is changed in the file is found before
// anything is brought in.
func TestExportThatWasAltered(t *testing.T) {
	y := filled(t)
	var file bytes.Buffer
	if err := y.Export(y.ctx, &file); err != nil {
		t.Fatal(err)
	}
	alter := func(change func(name string, content []byte) (string, []byte)) []byte {
		from, err := zip.NewReader(bytes.NewReader(file.Bytes()), int64(file.Len()))
		if err != nil {
			t.Fatal(err)
		}
		var out bytes.Buffer
		to := zip.NewWriter(&out)
		for _, f := range from.File {
			r, err := f.Open()
			if err != nil {
				t.Fatal(err)
			}
			content, err := io.ReadAll(r)
			if err != nil {
				t.Fatal(err)
			}
			name, content := change(f.Name, content)
			if name == "" {
				continue
			}
			w, err := to.Create(name)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := w.Write(content); err != nil {
				t.Fatal(err)
			}
		}
		if err := to.Close(); err != nil {
			t.Fatal(err)
		}
		return out.Bytes()
	}
	keep := func(name string, b []byte) (string, []byte) { return name, b }
	if _, err := CheckExport(bytes.NewReader(alter(keep)), int64(len(alter(keep)))); err != nil {
		t.Fatalf("unaltered: %v", err)
	}
	tests := map[string]func(string, []byte) (string, []byte){
		"a letter of a record": func(n string, b []byte) (string, []byte) {
			if n == recordsPart {
				b = bytes.Replace(b, []byte("heron-07"), []byte("heron-08"), 1)
			}
			return n, b
		},
		"a record less": func(n string, b []byte) (string, []byte) {
			if n == recordsPart {
				b = b[bytes.IndexByte(b, '\n')+1:]
			}
			return n, b
		},
		"a document less": func(n string, b []byte) (string, []byte) {
			if strings.HasPrefix(n, blobFolder) {
				n = ""
			}
			return n, b
		},
		"another document": func(n string, b []byte) (string, []byte) {
			if strings.HasPrefix(n, blobFolder) {
				b = []byte("%PDF-")
			}
			return n, b
		},
		"no list": func(n string, b []byte) (string, []byte) {
			if n == manifestPart {
				n = ""
			}
			return n, b
		},
		"a later format": func(n string, b []byte) (string, []byte) {
			if n == manifestPart {
				b = bytes.Replace(b, []byte(`"export": 1`), []byte(`"export": 2`), 1)
			}
			return n, b
		},
		"a part more": func(n string, b []byte) (string, []byte) {
			if n == sealsPart {
				n = "other"
			}
			return n, b
		},
	}
	for name, change := range tests {
		b := alter(change)
		there := newYard(t)
		_, err := there.ImportAll(there.ctx, bytes.NewReader(b), int64(len(b)))
		if _, ok := errors.AsType[*Invalid](err); !ok {
			t.Errorf("%s: %v, expected an *Invalid", name, err)
		}
		if len(there.picture()) > 0 {
			t.Errorf("%s: something was brought in", name)
		}
	}
	for _, b := range [][]byte{nil, []byte("no export"), file.Bytes()[:file.Len()/2]} {
		if _, err := CheckExport(bytes.NewReader(b), int64(len(b))); err == nil {
			t.Errorf("%d bytes passed", len(b))
		}
	}
}

// TestImportThatBrokeOff may be started again with the same file, and with no
// other.
func TestImportThatBrokeOff(t *testing.T) {
	y := filled(t)
	var file bytes.Buffer
	if err := y.Export(y.ctx, &file); err != nil {
		t.Fatal(err)
	}
	there := newYard(t)
	x, err := openExport(bytes.NewReader(file.Bytes()), int64(file.Len()))
	if err != nil {
		t.Fatal(err)
	}
	if err := there.store.PutSetting(there.ctx, importing, record.DigestOf(encoded(x.m)).String()); err != nil {
		t.Fatal(err)
	}
	for _, step := range []func(context.Context, *export, *Actor) error{there.importBlobs, there.importRecords} {
		if err := step(there.ctx, x, ActorFrom(there.ctx)); err != nil {
			t.Fatal(err)
		}
	}
	var other bytes.Buffer
	y.tractor("heron-99")
	if err := y.Export(y.ctx, &other); err != nil {
		t.Fatal(err)
	}
	if _, err := there.ImportAll(there.ctx, bytes.NewReader(other.Bytes()), int64(other.Len())); err == nil {
		t.Error("another file was taken for the rest")
	}
	report, err := there.ImportAll(there.ctx, bytes.NewReader(file.Bytes()), int64(file.Len()))
	if err != nil || !report.Sound() {
		t.Fatalf("%+v, %v", report, err)
	}
}

// TestDocumentsGone: a folder that is not there is told in plain words, and
// nothing is half entered.
func TestDocumentsGone(t *testing.T) {
	dir := t.TempDir()
	y := newYard(t)
	y.Register = New(openStore(t, dir), y.world)
	a := y.tractor("heron-07")
	folders, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range folders {
		if f.IsDir() {
			if err := os.RemoveAll(filepath.Join(dir, f.Name())); err != nil {
				t.Fatal(err)
			}
		}
	}
	_, err = y.Upload(y.ctx, bytes.NewReader(picturePNG(t, 4, 3)))
	if _, ok := errors.AsType[*store.Unavailable](err); !ok {
		t.Errorf("%v, expected a *store.Unavailable", err)
	}
	if docs := y.vehiclePage(a).Vehicle.Documents; len(docs) > 0 {
		t.Errorf("documents %v", docs)
	}
}
