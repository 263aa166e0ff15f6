package mounting

import (
	"errors"
	"fmt"

	"underpin/bolting"
	"underpin/unit"
)

func (f *File) checkFitting(g *Fitting, path string, bad reporter) {
	if g.Base == "" {
		bad(path, "a fitting without base", "base = frame, subframe or angles")
		return
	}
	if g.Brief != "" && f.Brief(g.Brief) == nil {
		bad(path+".brief", fmt.Sprintf("brief = %q", g.Brief), "the id of a brief of this file")
	}
	c := f.ChassisNamed(g.Chassis)
	switch b := f.Brief(g.Brief); {
	case g.Chassis != "" && c == nil:
		bad(path+".chassis", fmt.Sprintf("chassis = %q", g.Chassis), "the id of a chassis of this file")
		return
	case c == nil && b != nil:
		c = f.ChassisOf(b.Tractor)
	}
	s, err := f.Stack(g)
	if err == nil {
		err = s.Check(c)
	}
	var se *StackError
	if errors.As(err, &se) {
		bad(fmt.Sprintf("%s.parts[%d]", path, se.Index), se.Found, se.Do)
		return
	}
	if again := g.Again; again != nil {
		switch {
		case again.After == nil && again.Days == 0:
			bad(path+".retighten", "a retightening without distance and days", "after, days or both")
		case again.Days < 0 || again.Days > 3650:
			bad(path+".retighten.days", fmt.Sprintf("days = %d", again.Days), "1 to 3650 days, or nothing")
		}
		if again.Document == "" {
			bad(path+".retighten", "a retightening that does not say where it stands", "from: title, number, issue and page of the part's document")
		}
	}
	for i := range g.Joints {
		f.checkJoint(g, s, &g.Joints[i], fmt.Sprintf("%s.joint[%d]", path, i), bad)
	}
}

// joined returns the places of the bolts of a joint and whether the two are
// neighbours in the stack; a joint of the attachment angles and the web stands
// beside it.
func (f *File) joined(s Stack, j *Joint) (upper *Part, ok bool) {
	for i, p := range s.Parts {
		below := s.Base
		if i > 0 {
			below = s.Parts[i-1].ID
		}
		if p.ID == j.Upper && below == j.Lower {
			return p, true
		}
	}
	return nil, j.Upper == OnAngles && j.Lower == OnFrame && s.Base == OnAngles
}

func (f *File) checkJoint(g *Fitting, s Stack, j *Joint, path string, bad reporter) {
	upper, ok := f.joined(s, j)
	if !ok {
		bad(path, fmt.Sprintf("a joint of %q on %q", j.Upper, j.Lower), "lower and upper that lie on each other in this stack: "+s.String())
		return
	}
	for k := range g.Joints {
		if o := &g.Joints[k]; o == j {
			break
		} else if o.Lower == j.Lower && o.Upper == j.Upper {
			bad(path, fmt.Sprintf("a second joint of %q on %q", j.Upper, j.Lower), "one entry for each joint")
		}
	}
	if upper != nil {
		n := len(upper.Foot.Places())
		seen := map[int]bool{}
		for i, h := range j.Holes {
			if h < 1 || h > n || seen[h] {
				bad(fmt.Sprintf("%s.holes[%d]", path, i), fmt.Sprintf("hole %d", h), fmt.Sprintf("numbers of the %d foot holes of %s, each once", n, upper.ID))
			}
			seen[h] = true
		}
	}
	var thread bolting.Thread
	if j.Thread != "" {
		t, err := bolting.FindThread(j.Thread)
		if err != nil {
			bad(path+".thread", fmt.Sprintf("thread = %q, which is not in the table of threads", j.Thread), expectedOf(err))
		}
		thread = t
	}
	if j.Grade != "" {
		if _, err := bolting.FindClass(j.Grade, thread.Diameter); err != nil {
			bad(path+".grade", fmt.Sprintf("grade = %q, which is not in the table of property classes", j.Grade), expectedOf(err)+"; another grade has no strength here, so take a bolt of one of these")
		}
	}
	if j.Method != "" {
		if _, err := bolting.FindMethod(j.Method); err != nil {
			bad(path+".method", fmt.Sprintf("method = %q", j.Method), expectedOf(err))
		}
	}
	if j.Surface != "" {
		if _, err := bolting.FindSurface(j.Surface); err != nil {
			bad(path+".surface", fmt.Sprintf("surface = %q", j.Surface), expectedOf(err))
		}
	}
	if j.Roughness != "" {
		var pe *unit.ParseError
		_, err := bolting.EmbeddingLoss(bolting.EmbeddingInput{Joint: bolting.Joint{Bolt: 1, Plates: 1}, Roughness: j.Roughness})
		if errors.As(err, &pe) {
			bad(path+".roughness", fmt.Sprintf("roughness = %q", j.Roughness), pe.Expected)
		}
	}
	material(j.Material, path+".material", bad)
	if j.Torque != nil && j.Document == "" {
		bad(path+".torque", "a torque that does not say where it stands", "torque-from: title, number, issue and page of the part's document")
	}
	if j.LeastFriction != nil && j.MostFriction != nil && !(*j.LeastFriction <= *j.MostFriction) {
		bad(path+".friction-least", fmt.Sprintf("friction-least = %g above friction-most = %g", *j.LeastFriction, *j.MostFriction), "the least first")
	}
	if j.Washer != nil && thread.Diameter > 0 && !(*j.Washer > thread.Hole) {
		bad(path+".washer", "washer = "+mm(*j.Washer), "an outer diameter above the hole of "+mm(thread.Hole))
	}
}
