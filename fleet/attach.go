package fleet

import (
	"bytes"
	"context"
	"fmt"
	"image"
	_ "image/jpeg" // pictures are opened to see that they are some
	_ "image/png"
	"io"
	"strings"

	"underpin/record"
)

// Bounds of a document or photo.
const (
	MaxDocument = 25 << 20 // bytes
	maxPixels   = 100 << 20
)

// An Upload is a photo or paper that was put into the store and that a command
// can name.
type Upload struct {
	Blob  record.Digest
	Bytes int64
	Media string // media type, by its content
}

// Upload puts a photo or paper into the store. Its size and its type are checked:
// by what it holds, never by what it is called.
func (r *Register) Upload(ctx context.Context, from io.Reader) (*Upload, error) {
	if _, err := r.actor(ctx, Report); err != nil {
		return nil, err
	}
	content, err := io.ReadAll(io.LimitReader(from, MaxDocument+1))
	if err != nil {
		return nil, fmt.Errorf("the document cannot be read: %w", err)
	}
	media, err := checkContent(content)
	if err != nil {
		return nil, err
	}
	d, n, err := r.store.PutBlob(ctx, bytes.NewReader(content))
	if err != nil {
		return nil, err
	}
	return &Upload{Blob: d, Bytes: n, Media: media}, nil
}

// accepted lists what a document may be, by how it begins.
var accepted = []struct {
	media string
	is    func(b []byte) bool
}{
	{"image/jpeg", func(b []byte) bool { return bytes.HasPrefix(b, []byte("\xff\xd8\xff")) }},
	{"image/png", func(b []byte) bool { return bytes.HasPrefix(b, []byte("\x89PNG\r\n\x1a\n")) }},
	{"image/webp", func(b []byte) bool {
		return len(b) > 16 && string(b[:4]) == "RIFF" && string(b[8:12]) == "WEBP"
	}},
	{"image/heic", func(b []byte) bool {
		return len(b) > 16 && string(b[4:8]) == "ftyp" && strings.Contains("heic heix mif1 msf1 heim heis", string(b[8:12]))
	}},
	{"application/pdf", func(b []byte) bool { return bytes.HasPrefix(b, []byte("%PDF-")) }},
}

// checkContent tells what a document is, or what is wrong with it.
func checkContent(b []byte) (media string, err error) {
	switch {
	case len(b) == 0:
		return "", invalid("", "file", "nothing", "a photo or paper")
	case len(b) > MaxDocument:
		return "", invalid("", "file", fmt.Sprintf("more than %d MB", MaxDocument>>20), fmt.Sprintf("at most %d MB", MaxDocument>>20))
	}
	for _, a := range accepted {
		if a.is(b) {
			media = a.media
		}
	}
	switch media {
	case "":
		return "", invalid("", "file", "a file of another kind", "a photo (JPEG, PNG, WebP, HEIC) or a paper (PDF)")
	case "image/jpeg", "image/png":
		c, _, err := image.DecodeConfig(bytes.NewReader(b))
		if err != nil {
			return "", invalid("", "file", "a picture that cannot be opened", "a whole picture; take or send it again")
		}
		if c.Width*c.Height > maxPixels {
			return "", invalid("", "file", fmt.Sprintf("%d × %d points", c.Width, c.Height), "a smaller picture")
		}
	}
	return media, nil
}

// Attach puts an uploaded document or photo beside an asset.
type Attach struct {
	Meta
	Asset record.Asset
	Title string
	Sort  string // photo, certificate, instructions, plate, other
	Name  string // of the file
	File  Upload
}

func (*Attach) spec() (Permission, string) { return Report, "document-attached" }

func (c *Attach) plan(s *step) error {
	kind := c.Asset.Kind()
	switch kind {
	case record.VehicleAsset, record.PartAsset:
	case record.TypeAsset, record.DepotAsset, record.NoticeAsset:
		if err := s.actor.need(Design); err != nil {
			return err
		}
	default:
		return invalid("", "asset", show(encoded(string(c.Asset))), "a vehicle, part, type, depot or notice")
	}
	if _, err := s.need("asset", c.Asset, kind); err != nil {
		return err
	}
	if c.File.Blob.Zero() {
		return invalid("", "file", "nothing", "a photo or paper that was uploaded")
	}
	return s.enter(c.Asset, record.DocumentAttached{
		Title: c.Title, Sort: c.Sort, Name: c.Name, Media: c.File.Media, Bytes: c.File.Bytes, Blob: c.File.Blob,
	})
}

// Document opens a document or photo that some asset has. The caller closes it.
func (r *Register) Document(ctx context.Context, d record.Digest) (io.ReadSeekCloser, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	return r.store.Blob(ctx, d)
}
