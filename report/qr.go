package report

import (
	"strconv"
	"strings"

	"rsc.io/qr"
)

// A Code is a QR code as a path of an SVG of Size by Size modules, its quiet zone of
// four modules included.
type Code struct {
	Size int
	Path string
}

// QR writes a text as a QR code that a scratched or dirty fifth of can still be read.
// The quiet zone and the level of correction are those of ISO/IEC 18004.
func QR(text string) (*Code, error) {
	c, err := qr.Encode(text, qr.Q)
	if err != nil {
		return nil, err
	}
	const quiet = 4
	var b strings.Builder
	for y := range c.Size {
		for x := 0; x < c.Size; x++ {
			if !c.Black(x, y) {
				continue
			}
			from := x
			for x < c.Size && c.Black(x, y) {
				x++
			}
			n := strconv.Itoa(x - from)
			b.WriteString("M" + strconv.Itoa(from+quiet) + " " + strconv.Itoa(y+quiet) + "h" + n + "v1h-" + n + "z")
		}
	}
	return &Code{Size: c.Size + 2*quiet, Path: b.String()}, nil
}
