package record_test

import (
	"fmt"
	"time"

	"underpin/record"
)

// A coupling is added and fitted. Later somebody sees that the serial was
// misread, and corrects it: today's state follows, and so does the state of any
// day before.
func Example() {
	monday := record.At(time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC))
	who := record.Who{Account: "account/ann", Name: "Ann Ost"}
	draft := func(n byte, body record.Body) record.Draft {
		at := monday + record.Time(n)*3600*1e6
		return record.Draft{ID: record.NewID(at.Time(), [10]byte{n}), Asset: "part/one", Happened: at, Entered: at, Who: who, Body: body}
	}
	var head record.Head
	var chain []*record.Record
	enter := func(d record.Draft) {
		r, err := head.Next(d)
		if err != nil {
			fmt.Println(err)
			return
		}
		head, chain = r.Head(), append(chain, r)
	}
	enter(draft(1, record.PartAdded{Part: record.FifthWheel, Serial: "FW-1024"}))
	enter(draft(2, record.PartFitted{Vehicle: "vehicle/heron", Place: record.AtFifthWheel}))
	fix := draft(3, record.PartAdded{Part: record.FifthWheel, Serial: "FW-1042"})
	fix.Corrects, fix.Reason, fix.Happened = chain[0].ID, "digits swapped when it was typed", chain[0].Happened
	enter(fix)

	state := record.NewState(nil)
	for _, r := range chain {
		if _, err := state.Apply(r); err != nil {
			fmt.Println(err)
		}
	}
	e, _ := state.Entity("part/one")
	part, _ := e.Part(record.Latest)
	fmt.Println(part.Serial, "on", part.On().Vehicle, "since", part.On().From)
	then, _ := e.Part(chain[0].Happened)
	fmt.Println(then.Serial, "before it was fitted, on nothing:", then.On() == nil)
	// Output:
	// FW-1042 on vehicle/heron since 2026-03-02T11:00:00.000000Z
	// FW-1042 before it was fitted, on nothing: true
}
