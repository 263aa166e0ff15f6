package yard

import (
	"fmt"
	"strconv"

	"underpin/record"
)

// A Spot is where on the drawing somebody tapped: in thousandths of its width
// and height, from the upper left.
type Spot struct {
	Drawing string `json:"drawing"` // which one: coupling, trailer, pin
	X       int64  `json:"x"`
	Y       int64  `json:"y"`
}

// A Defect is what somebody reports: a photo, words or a tap on the drawing.
type Defect struct {
	ID     record.ID       `json:"id"`
	Asset  record.Asset    `json:"asset"` // the vehicle
	Part   string          `json:"part,omitempty"`
	Words  string          `json:"words,omitempty"`
	Spot   *Spot           `json:"spot,omitempty"`
	Photos []record.Digest `json:"photos,omitempty"`
	// State is the state that must never be driven, where it is one.
	State Key `json:"state,omitempty"`
	// DoNotUse puts the vehicle out of use at once and everywhere.
	DoNotUse bool         `json:"do_not_use,omitempty"`
	Check    record.ID    `json:"check,omitempty"` // during which it was found
	By       record.Asset `json:"by,omitempty"`    // account
	Name     string       `json:"name"`
	Phone    string       `json:"phone"`
	At       record.Time  `json:"at"` // by the phone's clock
	Clock    Clock        `json:"clock,omitzero"`
}

// Stops tells whether the defect takes the vehicle out of use: because whoever
// reported it said so, or because its state must never be driven.
func (d *Defect) Stops() bool { return d.DoNotUse || d.State != "" }

// Validate refuses a defect that says nothing, or that cannot be one.
func (d *Defect) Validate() error {
	if err := first(
		must("id", string(d.ID), d.ID.Valid(), "a version 7 UUID"),
		must("asset", string(d.Asset), d.Asset.Valid() && d.Asset.Kind() == record.VehicleAsset, "a vehicle"),
		plain("part", d.Part, maxName, false), plain("words", d.Words, MaxWords, false), plain("name", d.Name, maxName, true), plain("phone", d.Phone, maxName, true),
		must("state", string(d.State), d.State == "" || never(d.State) != (Reason{}), "a state that must never be driven"),
		must("check", string(d.Check), d.Check == "" || d.Check.Valid(), "a version 7 UUID"),
		must("by", string(d.By), d.By == "" || d.By.Valid() && d.By.Kind() == record.AccountAsset, "an account"),
		must("at", d.At.String(), d.At.Valid(), "an instant"),
		must("photos", fmt.Sprint(len(d.Photos)), len(d.Photos) <= MaxPhotos, "at most "+strconv.Itoa(MaxPhotos)),
	); err != nil {
		return err
	}
	if s := d.Spot; s != nil {
		if err := first(plain("spot.drawing", s.Drawing, maxName, true), between("spot.x", &s.X, 0, 1000), between("spot.y", &s.Y, 0, 1000)); err != nil {
			return err
		}
	}
	if plain("words", d.Words, MaxWords, true) != nil && d.Spot == nil && len(d.Photos) == 0 && d.State == "" {
		return &record.RuleError{Field: "words", Found: "nothing", Want: "words, a photo, a state or a tap on the drawing"}
	}
	return nil
}
