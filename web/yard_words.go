package web

import (
	"strings"

	"underpin/record"
)

// sayYard puts a body about the yard in words; an empty head: it is about something
// else.
func sayYard(said record.Body) (head string, lines []string) {
	add := func(label, text string) {
		if text != "" {
			lines = append(lines, label+": "+text)
		}
	}
	switch b := said.(type) {
	case record.CheckDone:
		head = "Driver's check (" + b.Flow + "): " + spaced(b.Says)
		add("Signed", orNone(b.Signed))
		add("Why", strings.Join(b.Why, " "))
		add("Without an answer", strings.Join(b.Skipped, ", "))
		add("Answered too fast", strings.Join(b.Hasty, ", "))
	case record.TrailerDropped:
		head = "Trailer dropped"
		add("Place", b.Place)
		add("Stands on", b.Ground)
		add("Load left", b.Load)
		add("Parking brake", b.Brake)
		add("Chocks", b.Chocks)
		add("Kingpin lock", b.Lock)
	case record.SliderSet:
		head = "Slider left at " + itoa(int(b.LeadMM)) + " mm"
	case record.DefectReported:
		head = "Defect reported"
		if b.DoNotUse {
			head += ": do not use"
		}
		add("Seen", b.Words)
		add("By", b.By)
	case record.DefectClosed:
		head = "Defect closed"
		add("Done", b.Done)
	}
	return head, lines
}
