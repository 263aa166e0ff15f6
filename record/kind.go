package record

import (
	"bytes"
	"encoding/json"
	"slices"
)

// A Body says what happened. Its types are the kinds of record; each is written
// as a JSON object with whole numbers in the unit that the member's name ends
// in, and with text where the trade writes a number with its unit.
type Body interface {
	// Kind is the kind's name in the envelope.
	Kind() string
	// check tells what in the body is not as the kind demands.
	check() error
}

// blobsOf are the blobs that a body itself names; the envelope names them too.
func blobsOf(b Body) []Digest {
	if names, ok := b.(interface{ blobs() []Digest }); ok {
		return names.blobs()
	}
	return nil
}

// VoidKind is the one kind that may void any other.
const VoidKind = "void"

// A kindInfo is what the format knows of a kind.
type kindInfo struct {
	version int      // the newest; all from 1 are read
	chains  []string // kinds of asset in whose chains it stands; none: all
	opens   bool     // begins a chain, and then stands nowhere else in it
	repeats bool     // opens a chain and follows in it too
	open    func(raw []byte) (Body, error)
	home    func(r *Record) Asset // which entity keeps the entry; nil: the record's asset
	fits    bool                  // changes where a part is or was fitted
}

func (k *kindInfo) on(chain string) bool {
	return len(k.chains) == 0 || slices.Contains(k.chains, chain)
}

// kinds lists every kind of record. A kind is never taken out, and the meaning
// of a version never changes: a changed body is a new version, and open learns
// to read both. The frozen corpus holds one record of each.
var kinds = map[string]*kindInfo{
	VoidKind: {version: 1, open: reader[Void], home: homeOfVoid},

	"vehicle-added":    {version: 1, chains: only(VehicleAsset), opens: true, open: reader[VehicleAdded]},
	"vehicle-changed":  {version: 1, chains: only(VehicleAsset), open: reader[VehicleChanged]},
	"vehicle-scrapped": {version: 1, chains: only(VehicleAsset), open: reader[VehicleScrapped]},

	"part-added":    {version: 1, chains: only(PartAsset), opens: true, open: reader[PartAdded]},
	"part-changed":  {version: 1, chains: only(PartAsset), open: reader[PartChanged]},
	"part-fitted":   {version: 1, chains: only(PartAsset), open: reader[PartFitted], fits: true},
	"part-removed":  {version: 1, chains: only(PartAsset), open: reader[PartRemoved], fits: true},
	"part-scrapped": {version: 1, chains: only(PartAsset), open: reader[PartScrapped], fits: true},

	"type-added":   {version: 1, chains: only(TypeAsset), opens: true, open: reader[TypeAdded]},
	"type-changed": {version: 1, chains: only(TypeAsset), open: reader[TypeChanged]},

	"depot-added":   {version: 1, chains: only(DepotAsset), opens: true, open: reader[DepotAdded]},
	"depot-changed": {version: 1, chains: only(DepotAsset), open: reader[DepotChanged]},
	"depot-closed":  {version: 1, chains: only(DepotAsset), open: reader[DepotClosed]},

	"document-attached": {version: 1, open: reader[DocumentAttached]},
	"meter-replaced":    {version: 1, chains: only(VehicleAsset), open: reader[MeterReplaced]},
	"reading-judged":    {version: 1, chains: only(VehicleAsset), open: reader[ReadingJudged]},

	"coupled":   {version: 1, chains: only(VehicleAsset), open: reader[Coupled], home: ownPeriod},
	"uncoupled": {version: 1, chains: only(VehicleAsset), open: reader[Uncoupled], home: namedPeriod},

	"notice-opened":      {version: 1, chains: only(NoticeAsset), opens: true, open: reader[NoticeOpened]},
	"notice-changed":     {version: 1, chains: only(NoticeAsset), open: reader[NoticeChanged]},
	"notice-part-closed": {version: 1, chains: only(NoticeAsset), open: reader[NoticePartClosed]},
	"notice-closed":      {version: 1, chains: only(NoticeAsset), open: reader[NoticeClosed]},

	"limits-changed": {version: 1, chains: only(LimitsAsset), opens: true, repeats: true, open: reader[LimitsChanged]},
	"answer-kept":    {version: 1, chains: only(VehicleAsset), open: reader[AnswerKept], home: ownAnswer},

	"catalogue-kept":     {version: 1, chains: only(LimitsAsset), opens: true, repeats: true, open: reader[CatalogueKept]},
	"specification-kept": {version: 1, chains: only(VehicleAsset), open: reader[SpecificationKept]},
	"mounting-built":     {version: 1, chains: only(VehicleAsset), open: reader[MountingBuilt]},
	"bolts-tightened":    {version: 1, chains: only(VehicleAsset), open: reader[BoltsTightened]},

	"task-done":           {version: 1, chains: only(VehicleAsset), open: reader[TaskDone]},
	"sheet-filled":        {version: 1, chains: only(VehicleAsset), open: reader[SheetFilled]},
	"outcome-given":       {version: 1, chains: only(VehicleAsset), open: reader[OutcomeGiven]},
	"work-signed":         {version: 1, chains: only(VehicleAsset), open: reader[WorkSigned]},
	"play-taken-up":       {version: 1, chains: only(VehicleAsset), open: reader[PlayTakenUp]},
	"returned-to-service": {version: 1, chains: only(VehicleAsset), open: reader[ReturnedToService]},
	"use-blocked":         {version: 1, chains: only(VehicleAsset), open: reader[UseBlocked]},
	"use-cleared":         {version: 1, chains: only(VehicleAsset), open: reader[UseCleared]},

	"check-done":      {version: 1, chains: only(VehicleAsset), open: reader[CheckDone]},
	"trailer-dropped": {version: 1, chains: only(VehicleAsset), open: reader[TrailerDropped]},
	"slider-set":      {version: 1, chains: only(VehicleAsset), open: reader[SliderSet]},
	"defect-reported": {version: 1, chains: only(VehicleAsset), open: reader[DefectReported]},
	"defect-closed":   {version: 1, chains: only(VehicleAsset), open: reader[DefectClosed]},

	"account-added":       {version: 1, chains: only(AccountAsset), opens: true, open: reader[AccountAdded]},
	"account-changed":     {version: 1, chains: only(AccountAsset), open: reader[AccountChanged]},
	"account-closed":      {version: 1, chains: only(AccountAsset), open: reader[AccountClosed]},
	"permissions-changed": {version: 1, chains: only(AccountAsset), open: reader[PermissionsChanged]},
	"token-issued":        {version: 1, chains: only(AccountAsset), open: reader[TokenIssued]},
	"token-revoked":       {version: 1, chains: only(AccountAsset), open: reader[TokenRevoked]},
}

func only(chain string) []string { return []string{chain} }

// Kinds returns the name of every kind with its newest version.
func Kinds() map[string]int {
	all := make(map[string]int, len(kinds))
	for name, info := range kinds {
		all[name] = info.version
	}
	return all
}

// Open reads the body as the type of its kind, strictly: a member that the
// version does not have is an error.
func (r *Record) Open() (Body, error) {
	info, known := kinds[r.Kind]
	if !known || r.Version < 1 || r.Version > info.version {
		return nil, &UnknownKindError{ID: r.ID, Kind: r.Kind, Version: r.Version}
	}
	body, err := info.open(r.Body)
	if err != nil {
		return nil, inField("body", err)
	}
	return body, nil
}

func reader[T Body](raw []byte) (Body, error) {
	var body T
	if err := strict(raw, &body); err != nil {
		return nil, err
	}
	return body, nil
}

func strict(raw []byte, into any) error {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.DisallowUnknownFields()
	if err := dec.Decode(into); err != nil {
		return &RuleError{Found: err.Error(), Want: "the members of its kind and version"}
	}
	if dec.More() {
		return &RuleError{Found: "more than one value", Want: "one object"}
	}
	return nil
}

// A Void takes back a record that should not have been entered.
type Void struct {
	Of   string `json:"of"`             // kind of the record that is voided
	Home Asset  `json:"home,omitempty"` // where its entry stands, when not with its own asset
}

func (Void) Kind() string { return VoidKind }

func (v Void) check() error {
	if _, known := kinds[v.Of]; !known || v.Of == VoidKind {
		return &RuleError{Field: "of", Found: quote(v.Of), Want: "the kind of the record that is voided"}
	}
	if v.Home != "" && !v.Home.Valid() {
		return &RuleError{Field: "home", Found: quote(string(v.Home)), Want: "an entity, or nothing"}
	}
	return nil
}

// VoidOf returns the body that voids r. To take back a correction, correct
// again: a void is of the record first entered.
func VoidOf(r *Record) (Void, error) {
	if r.Corrects != "" {
		return Void{}, &RuleError{Field: "corrects", Found: "a correction", Want: "the record first entered, " + string(r.Corrects)}
	}
	v := Void{Of: r.Kind}
	if home := r.Home(); home != r.Asset {
		v.Home = home
	}
	return v, nil
}

// root is the id of the record first entered.
func (r *Record) root() ID {
	if r.Corrects != "" {
		return r.Corrects
	}
	return r.ID
}

// Home is the entity that keeps the record's entry: its asset, or for what grows
// without end an entity of its own.
func (r *Record) Home() Asset {
	if info := kinds[r.Kind]; info != nil && info.home != nil {
		return info.home(r)
	}
	return r.Asset
}

func ownPeriod(r *Record) Asset { return NewAsset(PeriodEntity, string(r.root())) }
func ownAnswer(r *Record) Asset { return NewAsset(AnswerEntity, string(r.root())) }

func namedPeriod(r *Record) Asset {
	var body struct{ Period string }
	_ = json.Unmarshal(r.Body, &body) // an unreadable body names no period, and Apply says so
	return NewAsset(PeriodEntity, body.Period)
}

func homeOfVoid(r *Record) Asset {
	var body struct{ Home Asset }
	_ = json.Unmarshal(r.Body, &body)
	if body.Home == "" {
		return r.Asset
	}
	return body.Home
}
