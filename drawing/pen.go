package drawing

import (
	"underpin/scene"
	"underpin/unit"
)

// weigh makes lines lighter where the drawing is small, so that a wheel stays a
// wheel: one step of the series down.
func (v *view) weigh(l scene.Layer) scene.Layer {
	if !v.o.Phone {
		return l
	}
	for _, step := range [...][2]scene.Width{{scene.W70, scene.W50}, {scene.W50, scene.W35}, {scene.W35, scene.W25}, {scene.W25, scene.W18}, {scene.W18, scene.W13}} {
		if l.Width == step[0] {
			l.Width = step[1]
			return l
		}
	}
	return l
}

// The drawing methods of a scene, with the weight of lines that suits the view.

func (v *view) Line(l scene.Layer, a, b scene.Pt)           { v.Scene.Line(v.weigh(l), a, b) }
func (v *view) Polyline(l scene.Layer, pts ...scene.Pt)     { v.Scene.Polyline(v.weigh(l), pts...) }
func (v *view) Polygon(l scene.Layer, pts ...scene.Pt)      { v.Scene.Polygon(v.weigh(l), pts...) }
func (v *view) Rect(l scene.Layer, a, b scene.Pt)           { v.Scene.Rect(v.weigh(l), a, b) }
func (v *view) Circle(l scene.Layer, c scene.Pt, r float64) { v.Scene.Circle(v.weigh(l), c, r) }
func (v *view) Arc(l scene.Layer, c scene.Pt, r float64, from, to unit.Angle) {
	v.Scene.Arc(v.weigh(l), c, r, from, to)
}
