package maintenance

import (
	"underpin/record"
	"underpin/unit"
)

// A TorqueRow is one line of the torque table of a work order.
type TorqueRow struct {
	Where, Thread, Grade, Note string
	Least, Most                unit.Torque // equal when one value is printed
	Printed                    string
	Setting                    unit.Torque // of the wrench, without an extension
	Source                     string      // empty: no document, and the row does not count
}

// TorqueTable is the torque table of a work order, as entered from the documents
// of the types; nothing is added from memory. Rows that cannot be read are
// returned as messages.
//
// The wrench is set to the value that is printed, or to the middle of a range.
func TorqueTable(types []record.TypeAdded) (rows []TorqueRow, problems []Message) {
	for _, t := range types {
		for _, q := range t.Torques {
			r := TorqueRow{Where: q.Where, Thread: q.Thread, Grade: q.Grade, Note: q.Note, Printed: q.Least}
			least, err := unit.Parse(q.Least, unit.TorqueDim)
			most := least
			if err == nil && q.Most != "" {
				r.Printed += " – " + q.Most
				most, err = unit.Parse(q.Most, unit.TorqueDim)
			}
			if err != nil || !(0 < least && least <= most) {
				problems = append(problems, sayBadTorque.with(t.Name, q.Where, r.Printed))
				continue
			}
			r.Least, r.Most, r.Setting = unit.Torque(least), unit.Torque(most), unit.Torque((least+most)/2)
			if s := firstSource(q.Source, t.Source); s.Document != "" {
				r.Source = sourceOf(s)
			}
			rows = append(rows, r)
		}
	}
	return rows, problems
}

// WrenchSetting returns what a torque wrench is set to when an extension in line
// with it carries the socket beyond its square:
//
//	setting = M·L/(L + e)
//
//	M  torque wanted at the bolt                                  N·m
//	L  from the middle of the grip to the square of the wrench    m
//	e  from the square to the bolt; below nothing when it points back   m
//
// Valid for M > 0, L > 0 and −L < e; otherwise the error is a *unit.DomainError.
// An extension at a right angle changes nothing.
//
// Source: statics of the lever; elementary statics.
func WrenchSetting(m unit.Torque, grip, extension unit.Length) (unit.Torque, error) {
	const name = "wrench setting"
	switch {
	case !(m > 0 && m < 1e6):
		return 0, &unit.DomainError{Formula: name, Input: "torque", Value: float64(m), Want: "M > 0"}
	case !(grip > 0 && grip < 10):
		return 0, &unit.DomainError{Formula: name, Input: "grip", Value: float64(grip), Want: "L > 0"}
	case !(extension > -grip && extension < 10):
		return 0, &unit.DomainError{Formula: name, Input: "extension", Value: float64(extension), Want: "−L < e"}
	}
	return m * unit.Torque(grip/(grip+extension)), nil
}
