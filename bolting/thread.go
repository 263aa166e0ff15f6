package bolting

import (
	"math"
	"strings"

	"underpin/unit"
)

// A Thread is a metric thread with the head and hole that usually go with it.
// Change Bearing and Hole of a copy for a hardened washer or a flange head.
type Thread struct {
	Name            string      // "M16", "M16×1.5"
	Diameter        unit.Length // d
	Pitch           unit.Length // P
	NominalArea     unit.Area   // AS,nom as ISO 898-1 prints it
	AreaEvidence    Evidence    // of NominalArea
	Bearing         unit.Length // dW, outer diameter of the bearing face of a hexagon head
	Hole            unit.Length // dh, clearance hole, medium series
	BearingEvidence Evidence    // of Bearing and Hole
}

// The thread table, in mm and mm².
//
// Nominal areas: EN ISO 898-1, tables of minimum tensile and proof loads,
// coarse threads as reprinted in two tables of loads (read); fine threads
// unverified (memory). Bearing faces: ISO 4014 and ISO 4017, least dW; holes:
// ISO 273, medium: both from memory, and with them the torques of the published
// table of VDI 2230:2001 come out within 0.7 % for M12, M14, M16, M20 and M24
// (derived); M18 and M22 have no such check (memory).
var threads = [...]struct {
	name       string
	d, p, area float64
	areaBy     Evidence
	dw, dh     float64
	bearingBy  Evidence
}{
	{"M12", 12, 1.75, 84.3, Read, 16.63, 13.5, Derived},
	{"M14", 14, 2, 115, Read, 19.64, 15.5, Derived},
	{"M16", 16, 2, 157, Read, 22.49, 17.5, Derived},
	{"M18", 18, 2.5, 192, Read, 25.34, 20, Memory},
	{"M20", 20, 2.5, 245, Read, 28.19, 22, Derived},
	{"M22", 22, 2.5, 303, Read, 31.71, 24, Memory},
	{"M24", 24, 3, 353, Read, 33.61, 26, Derived},
	{"M12×1.25", 12, 1.25, 92.1, Memory, 16.63, 13.5, Derived},
	{"M12×1.5", 12, 1.5, 88.1, Memory, 16.63, 13.5, Derived},
	{"M14×1.5", 14, 1.5, 125, Memory, 19.64, 15.5, Derived},
	{"M16×1.5", 16, 1.5, 167, Memory, 22.49, 17.5, Derived},
	{"M18×1.5", 18, 1.5, 216, Memory, 25.34, 20, Memory},
	{"M20×1.5", 20, 1.5, 272, Memory, 28.19, 22, Derived},
	{"M22×1.5", 22, 1.5, 333, Memory, 31.71, 24, Memory},
	{"M24×2", 24, 2, 384, Memory, 33.61, 26, Derived},
}

// FindThread returns the thread of a size as stamped, drawn or typed: "M16",
// "m16x1.5", "M16 × 1,5"; a coarse pitch may be written out ("M16x2"). Its
// diameters follow from d and P:
//
//	d2 = d − 0.649519·P,  d1 = d − 1.082532·P,  d3 = d1 − H/6,  H = 0.866025·P
//	dS = (d2 + d3)/2,  AS = π/4·dS²
//
//	d   nominal diameter    mm
//	P   pitch               mm
//	AS  stress area         mm²
//
// Valid for M12 to M24, the sizes that hold couplings; the error for any other
// is a *unit.ParseError that lists what the table has.
//
// Source: ISO 724 (basic profile) for the diameters; EN ISO 898-1 for the
// nominal areas; ISO 4014, ISO 4017 and ISO 273 (memory) for head and hole.
func FindThread(size string) (Thread, error) {
	key := strings.NewReplacer(" ", "", "\u00a0", "", "x", "×", "X", "×", "*", "×", ",", ".", "m", "M").Replace(size)
	name, pitch, hasPitch := strings.Cut(key, "×")
	for _, t := range threads {
		base, fine, isFine := strings.Cut(t.name, "×")
		if name != base {
			continue
		}
		switch {
		case isFine && hasPitch && trimZeros(pitch) == fine:
		case !isFine && (!hasPitch || trimZeros(pitch) == coarse(t.p)):
		default:
			continue
		}
		return Thread{
			Name: t.name, Diameter: mm(t.d), Pitch: mm(t.p),
			NominalArea: unit.Area(t.area) * unit.SquareMillimetre, AreaEvidence: t.areaBy,
			Bearing: mm(t.dw), Hole: mm(t.dh), BearingEvidence: t.bearingBy,
		}, nil
	}
	var have []string
	for _, t := range threads {
		have = append(have, t.name)
	}
	return Thread{}, &unit.ParseError{
		Found: size, Why: "which is not in the table of threads",
		Expected: "one of " + strings.Join(have, ", "),
	}
}

// coarse writes the pitch of a coarse thread as people do: 1.75, 2, 2.5, 3.
func coarse(p float64) string {
	switch p {
	case 1.75:
		return "1.75"
	case 2:
		return "2"
	case 2.5:
		return "2.5"
	}
	return "3"
}

func trimZeros(s string) string {
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

func mm(v float64) unit.Length { return unit.Length(v) * unit.Millimetre }

// The diameters of the basic profile, ISO 724, with d3 as ISO 898-1 takes it:
// d2 = d − 0.649519 P, d1 = d − 1.082532 P, d3 = d1 − H/6, H = 0.866025 P,
// dS = (d2 + d3)/2.

// PitchDiameter is d2.
func (t Thread) PitchDiameter() unit.Length {
	return t.Diameter - unit.Length(0.75*triangle)*t.Pitch
}

// MinorDiameter is d1.
func (t Thread) MinorDiameter() unit.Length {
	return t.Diameter - unit.Length(1.25*triangle)*t.Pitch
}

// RootDiameter is d3, the diameter at the bottom of the thread.
func (t Thread) RootDiameter() unit.Length {
	return t.MinorDiameter() - unit.Length(triangle/6)*t.Pitch
}

// StressDiameter is dS, of the circle whose area carries the tension.
func (t Thread) StressDiameter() unit.Length { return (t.PitchDiameter() + t.RootDiameter()) / 2 }

// StressArea is AS = π/4·dS², calculated; the standard's tables of loads use
// NominalArea, which is the same rounded to three figures.
func (t Thread) StressArea() unit.Area { return circle(t.StressDiameter()) }

// RootArea is A_d3 = π/4·d3².
func (t Thread) RootArea() unit.Area { return circle(t.RootDiameter()) }

// ShankArea is A_N = π/4·d².
func (t Thread) ShankArea() unit.Area { return circle(t.Diameter) }

// BearingArea is A_p = π/4·(dW² − dh²), what the head presses on.
func (t Thread) BearingArea() unit.Area { return circle(t.Bearing) - circle(t.Hole) }

// valid says whether t is a thread at all: a zero Thread is not.
func (t Thread) valid() bool {
	return t.Pitch > 0 && t.RootDiameter() > 0 && t.Bearing > t.Hole && t.Hole >= t.Diameter && !math.IsInf(float64(t.Bearing), 0)
}

// triangle is H/P, the height of the thread's fundamental triangle: √3/2.
const triangle = 0.86602540378443864676

func circle(d unit.Length) unit.Area { return unit.Area(math.Pi / 4 * float64(d) * float64(d)) }
