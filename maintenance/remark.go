package maintenance

import (
	"slices"
	"strings"

	"underpin/rule"
)

// A Remark is what the law of a country says of couplings without a figure, or
// where it has figures that were not readable. It is shown beside the limits and
// decides nothing.
type Remark struct {
	Countries []string
	Text      Text
	Evidence  rule.Evidence
	Source    string
}

// european are the countries of the European Union by their codes.
var european = strings.Fields("at be bg hr cy cz dk ee fi fr de gr hu ie it lv lt lu mt nl pl pt ro sk si es se eu")

var remarks = [...]Remark{
	{Countries: european, Text: Text{"remark.eu", "The periodic inspection looks at wear and function of the coupling and its safety devices; excessive wear is a major defect, beyond the limit a dangerous one. It names no millimetres: the limit is that of the component."},
		Evidence: rule.Memory, Source: "Directive 2014/45/EU, Annex I, item 6.1.6, from memory"},
	{Countries: []string{"us"}, Text: Text{"remark.us", "The lower half is held by brackets and bolts and a positive device against shifting; the lock needs a positive release by hand and closes by itself. Driven straight, the combination keeps within 3 in to each side."},
		Evidence: rule.Read, Source: "49 CFR 393.70"},
	{Countries: []string{"us"}, Text: Text{"remark.us-roadside", "At the roadside more than a fifth of the frame fasteners of one side, or more than a quarter of the slider's, put a vehicle out of service; the periodic inspection fails on any."},
		Evidence: rule.Memory, Source: "North American out-of-service criteria, from memory"},
	{Countries: []string{"ca-qc"}, Text: Text{"remark.ca-qc", "Pin and plate stand at right angles, joined securely, without crack or sign of weld repair; the limit of the diameter could not be read and must be looked up."},
		Evidence: rule.Read, Source: "Quebec C-24.2, r. 32, s. 101"},
	{Countries: []string{"nz"}, Text: Text{"remark.nz", "Welded or repaired pins are rejected; jaws worn beyond the maker's specification or out of adjustment too. A coupling that was in service is fitted again with new fasteners only. Corrosion of the structure above the plate is looked for from above and behind."},
		Evidence: rule.Read, Source: "New Zealand VIRM, 9-1 and 12-1; information sheet on skid plates (2019)"},
	{Countries: []string{"au"}, Text: Text{"remark.au", "The national inspection manual has a table of its own, which could not be read: look it up."},
		Evidence: rule.Memory, Source: "from memory"},
	{Countries: []string{"uk"}, Text: Text{"remark.uk", "The inspection manual for heavy vehicles has a section on the coupling, whose millimetres could not be read: look them up. Couplings are looked at within the operator's regular safety inspection."},
		Evidence: rule.Memory, Source: "from memory"},
}

// Remarks are those of the countries where a vehicle runs.
func (r Regime) Remarks() []Remark {
	var out []Remark
	for _, m := range remarks {
		if slices.ContainsFunc(m.Countries, func(c string) bool {
			return slices.ContainsFunc(r.Countries, func(in string) bool { return in == c || strings.HasPrefix(in, c+"-") })
		}) {
			out = append(out, m)
		}
	}
	return out
}
