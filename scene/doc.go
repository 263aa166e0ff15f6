// Package scene is the one model of every drawing: what is drawn is told once,
// in real millimetres, and written as SVG for the page, PDF for paper, PNG for
// a message and DXF for the drawing office.
//
// Model co-ordinates are millimetres of the real thing, x to the right and y
// up. A scene has a drawing scale; a scale of 50 means 1:50, so that 50 mm of
// the vehicle are one millimetre on paper. What a draughtsman sizes by the
// paper and not by the thing (text, arrowheads, line widths, gaps of extension
// lines) is given in paper millimetres and does not change with the scale.
//
// Lines stand on layers. A layer has a name, a width in the steps of ISO 128,
// a dash pattern and a role; the role, not a colour, says what it means, and
// each writer turns roles into its own colours.
package scene
