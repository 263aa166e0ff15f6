package yard_test

import (
	"fmt"

	"underpin/unit"
	"underpin/yard"
)

func ExampleNewCard() {
	coupling, plate := 1150*unit.Millimetre, 1120*unit.Millimetre
	card, err := yard.NewCard(yard.Couple, yard.Pair{
		Country:  "de",
		Coupling: &coupling, Plate: &plate,
		Facts: yard.Facts{Opening: yard.ByHand, From: yard.OnLeft, Securing: yard.Flap, Mark: yard.Yes, Lamp: yard.No},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range card.Halts[1].Steps[2:7] {
		fmt.Println(s.Text)
	}
	fmt.Println(card.NotKnown[0].In(yard.German))
	// Output:
	// Light or a gap between the plates, from either side?
	// Torch, from behind: lock closed behind the pin?
	// Handle (left side) right home in its locked place?
	// Safety flap fallen by itself?
	// Indicator right in: seen and felt?
	// nicht bekannt: ob es eine Anzeige im Fahrerhaus gibt
}

func ExampleMeet() {
	coupling, plate := 1150*unit.Millimetre, 1155*unit.Millimetre
	m := yard.Meet(&coupling, &plate)
	fmt.Printf("%s, %.0f mm below\n", m.Meets, m.Below.Millimetres())
	// Output: too-high, -5 mm below
}
