package scene_test

import (
	"math"

	"underpin/scene"
	"underpin/unit"
)

// side is a side view with everything on it that drawings use: an invented
// tractor and semi-trailer.
func side() *scene.Scene {
	s := scene.New(62.5)
	s.Title = "Tractor and semi-trailer, side view"
	s.Desc = "The coupling stands 600 mm ahead of the drive axle; the combination is 16 480 mm long."
	s.Width = 256
	s.Block = scene.TitleBlock{
		{Label: "pairing", Value: "Heron 07 with Marsh 23", Weight: 2},
		{Label: "lead ahead of drive axle", Value: "600 mm"},
		{Label: "lawful range", Value: "398 to 718 mm"},
		{Label: "rulebook", Value: "EU 96/53/EC"},
		{Label: "scale", Value: "1:62.5"},
	}
	p := func(x, y float64) scene.Pt { return scene.Pt{X: x, Y: y} }
	const front, drive, pin, rear, bogie = 0.0, 3700.0, 3100.0, 15100.0, 10800.0

	// Trailer, then tractor in front of it.
	s.Rect(scene.Body, p(pin-1600, 1150), p(rear, 3990))
	s.Line(scene.Detail, p(pin-1600, 1270), p(rear, 1270))
	s.Line(scene.Layer{Name: "legs", Line: scene.RoleInk, Width: scene.W70}, p(pin+2300, 1150), p(pin+2300, 350))
	s.Line(scene.Layer{Name: "legs", Line: scene.RoleInk, Width: scene.W70}, p(pin+2150, 350), p(pin+2450, 350))
	s.Polygon(scene.Body, p(-1360, 450), p(-1360, 3600), p(-900, 3750), p(880, 3750), p(880, 1050), p(4600, 980), p(4600, 720), p(-700, 720), p(-800, 450))
	s.Polygon(scene.Glass, p(-1200, 2200), p(-1200, 3200), p(-250, 3300), p(-250, 2200))
	s.Polygon(scene.Solid, p(pin-480, 1080), p(pin-380, 1150), p(pin+420, 1150), p(pin+500, 1060), p(pin+400, 1010), p(pin-400, 1010))
	for _, x := range []float64{front, drive, bogie - 1310, bogie, bogie + 1310} {
		s.Circle(scene.Body, p(x, 500), 500)
		s.Circle(scene.Detail, p(x, 500), 280)
	}
	s.Line(scene.Ground, p(-1900, 0), p(rear+400, 0))
	for _, x := range []float64{front, drive, bogie} {
		s.CentreLine(p(x, 0), p(x, 1700))
	}
	s.CentreLine(p(pin, 0), p(pin, 1500))

	// The coupling can be dragged.
	s.Group(scene.Tag{ID: "coupling", Class: "drag", Data: []scene.Attr{{Name: "lead-mm", Value: "600"}, {Name: "note", Value: `5" & "<less>"`}, {Name: "on click", Value: "no"}}, Attrs: []scene.Attr{
		{Name: "role", Value: "slider"}, {Name: "tabindex", Value: "0"}, {Name: "aria-label", Value: "lead"}, {Name: "onclick", Value: "no"},
	}}, func() {
		s.Hit(p(pin-700, 900), p(pin+700, 1500))
		s.Mark(scene.RoleHolds, p(pin, 1600), 2.6)
	})

	s.Text(scene.Text{At: p(front, 1900), S: "7.17 t", Bold: true, H: scene.Middle, Halo: true})
	s.Text(scene.Text{At: p(drive, 1900), S: "10.94 t", Bold: true, H: scene.Middle, Halo: true})
	s.Text(scene.Text{At: p(bogie, 1900), S: "21.89 t", Bold: true, H: scene.Middle, Halo: true})
	s.Text(scene.Text{At: p(pin-1300, 3500), S: "payload 25.9 t at 6.80 m, Ø50.8 ±0.1, ≤ 4.00 m", V: scene.Centred})

	// Dimensions.
	y := func(n int) float64 { return -s.Row(n) }
	s.DimHorizontal(y(0), scene.Dim{A: p(front, 0), B: p(pin, 0)})
	s.DimHorizontal(y(0), scene.Dim{A: p(drive, 0), B: p(bogie, 0)})
	s.DimHorizontal(y(0), scene.Dim{A: p(pin, 0), B: p(drive, 0), BareA: true, BareB: true})
	s.DimHorizontal(y(1), scene.Dim{A: p(-1360, 0), B: p(rear, 0)})
	s.DimHorizontal(y(2), scene.Dim{A: p(pin, 0), B: p(pin+2300, 0), Unknown: true, Text: "legs not measured"})
	s.DimVertical(rear+s.Row(0), scene.Dim{A: p(rear, 0), B: p(rear, 1150)})
	s.DimVertical(rear+s.Row(1), scene.Dim{A: p(rear, 0), B: p(rear, 3990)})
	s.DimHorizontal(4500, scene.Dim{A: p(880, 3750), B: p(pin-1600, 3990), Text: "620", Role: scene.RoleFails})
	s.DimHorizontal(y(0), scene.Dim{A: p(rear-100, 1150), B: p(rear, 1150), BareB: true, Before: true})
	s.DimAligned(8, scene.Dim{A: p(-1360, 3600), B: p(-900, 3750)})
	s.DimAligned(-6, scene.Dim{A: p(pin+2900, 3400), B: p(pin+4100, 2800)})
	s.DimRadius(p(bogie, 500), 500, unit.Angle(math.Pi/5), scene.Dim{})
	s.Arc(scene.Centre, p(pin, 1150), 2040, unit.Angle(math.Pi*0.78), unit.Angle(math.Pi))
	s.DimRadius(p(pin, 1150), 2040, unit.Angle(math.Pi*0.86), scene.Dim{})
	s.DimAngle(p(rear-1900, 2300), 1200, unit.Angle(0.2), unit.Angle(1.1), scene.Dim{})
	s.DimAngle(p(rear-3300, 2300), 1000, unit.Angle(1.4), unit.Angle(1.5), scene.Dim{})

	// Notes and states.
	s.Leader(scene.Note{Tip: p(pin+100, 1090), Elbow: p(pin+1500, 2000), Lines: []string{"coupling", "1 150 above ground"}, Dot: true})
	s.Leader(scene.Note{Tip: p(-1360, 1000), Elbow: p(-1750, 2200), Lines: []string{"front"}, Role: scene.RoleCaution, Bold: true})
	for i, r := range []scene.Role{scene.RoleHolds, scene.RoleCaution, scene.RoleFails, scene.RoleUnknown} {
		at := p(7700, 3500-float64(i)*320)
		s.Mark(r, at, 2.6)
		s.Text(scene.Text{At: at.Add(s.Mm(2.2), 0), S: string(r), V: scene.Centred, Role: r})
	}
	s.Hatch(scene.Hatching, unit.Angle(math.Pi/4), 1.5, p(-1900, 0), p(rear+400, 0), p(rear+400, -160), p(-1900, -160))
	s.Rect(scene.Missing, p(12700, 1500), p(14500, 1950))
	return s
}
