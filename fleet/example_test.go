package fleet_test

import (
	"context"
	"encoding/json"
	"fmt"
	"os"

	"underpin/fleet"
	"underpin/record"
	"underpin/store"
)

// A coupling is fitted to a tractor, and the register says what is on it.
func Example() {
	dir, err := os.MkdirTemp("", "register")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	st, err := store.OpenSQLite(context.Background(), dir, store.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer st.Close()
	r := fleet.New(st, fleet.World{})
	ctx := fleet.WithActor(context.Background(), fleet.Operator("the workshop"))

	tractor, err := r.Do(ctx, &fleet.AddVehicle{Details: record.VehicleAdded{
		Vehicle: record.Tractor,
		Fields:  record.Fields{"id": fleet.Text("heron-07"), "width": fleet.Text("2550 kg")},
	}})
	fmt.Println(err)
	tractor, err = r.Do(ctx, &fleet.AddVehicle{Details: record.VehicleAdded{
		Vehicle: record.Tractor,
		Fields:  record.Fields{"id": fleet.Text("heron-07"), "axle": json.RawMessage(`[{"kind":"steer"},{"kind":"drive","at":"3700 mm"}]`)},
	}})
	if err != nil {
		fmt.Println(err)
		return
	}
	d := int64(152_000)
	wheel, err := r.Do(ctx, &fleet.AddPart{Details: record.PartAdded{
		Part: record.FifthWheel, Serial: "FW 1001", Ratings: record.Ratings{D: &d}, ReadFrom: "plate",
	}})
	if err != nil {
		fmt.Println(err)
		return
	}
	km := int64(412_000_000)
	if _, err := r.Do(ctx, &fleet.FitPart{Part: wheel.Asset, Vehicle: tractor.Asset,
		Reading: record.MeterReading{Meter: record.Odometer, Metres: &km}}); err != nil {
		fmt.Println(err)
		return
	}
	now, err := r.Fleet(ctx)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(now.Tractors[0].ID, now.Tractors[0].FifthWheel.D.Kilonewtons(), "kN:", now.Remarks[0].Why)
	// Output:
	// width: found "2550 kg", where kg is a unit of mass; expected a length with its unit, such as 3700mm, 3.7m or 12ft 2in
	// heron-07 152 kN: marked values are those of fifth-wheel FW 1001
}
