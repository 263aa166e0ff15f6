package fleet

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"underpin/record"
	yardcard "underpin/yard"
)

// A cell is one command as somebody sends it, on assets of its own.
type cell struct {
	needs []Permission
	make  func(y *yard, n int, who Actor) Command
}

// commands are one or more of each command there is.
func commands() map[string]cell {
	number := func(what string, n int) string { return fmt.Sprintf("%s-%d", what, n) }
	because := Meta{Reason: "a test"}
	account := func(y *yard, n int) record.Asset {
		return y.must(&AddAccount{Name: "P", Login: number("p", n), Roles: []string{record.Driver}}).Asset
	}
	depot := func(y *yard, n int) record.Asset {
		return y.must(&AddDepot{Details: record.DepotAdded{Name: number("Yard", n)}}).Asset
	}
	typ := func(y *yard, n int) record.Asset {
		return y.must(&AddType{Details: record.TypeAdded{Part: record.FifthWheel, Name: number("Type", n)}}).Asset
	}
	notice := record.NoticeOpened{Title: "T", Part: "other", Action: "look"}
	fitted := func(y *yard, n int) record.Asset {
		w := y.wheel(number("FW", n))
		y.must(&FitPart{Part: w, Vehicle: y.tractor(number("heron", n)), Reading: odo(1)})
		return w
	}
	version := func(y *yard, a record.Asset) string {
		e, err := y.entity(y.ctx, a)
		if err != nil {
			y.Fatal(err)
		}
		return versionOf(e)
	}
	vehicle := func(number string) record.VehicleAdded {
		return record.VehicleAdded{Vehicle: record.Tractor, Fields: record.Fields{"id": Text(number)}}
	}
	kept := func(y *yard, a record.Asset) record.AnswerKept {
		return record.AnswerKept{Question: []byte(`{}`), Answer: []byte(`{}`), Rulebook: "eu", Rules: record.DigestOf(nil), Program: "1", Vehicles: []record.Asset{a}}
	}
	// noted is a document that somebody attached to a vehicle.
	noted := func(y *yard, n int, who Actor) record.ID {
		a := y.tractor(number("noted", n))
		d, size, err := y.Store().PutBlob(y.ctx, strings.NewReader("a"))
		if err != nil {
			y.Fatal(err)
		}
		done, err := y.Do(y.as(who), &Attach{Asset: a, Title: "T", Sort: "photo", File: Upload{d, size, "image/png"}})
		if err != nil {
			y.Fatal(err)
		}
		return done.Record
	}
	other := Operator("somebody else")
	return map[string]cell{
		"AddVehicle": {[]Permission{Design}, func(y *yard, n int, _ Actor) Command { return &AddVehicle{Details: vehicle(number("v", n))} }},
		"ChangeVehicle": {[]Permission{Design}, func(y *yard, n int, _ Actor) Command {
			a := y.tractor(number("v", n))
			return &ChangeVehicle{Asset: a, Version: version(y, a), Details: vehicle(number("w", n))}
		}},
		"ScrapVehicle": {[]Permission{Design}, func(y *yard, n int, _ Actor) Command { return &ScrapVehicle{Asset: y.tractor(number("v", n))} }},
		"ReplaceMeter": {[]Permission{Fit}, func(y *yard, n int, _ Actor) Command {
			return &ReplaceMeter{Vehicle: y.tractor(number("v", n)), Meter: record.Odometer}
		}},
		"JudgeReading": {[]Permission{Fit}, func(y *yard, n int, _ Actor) Command {
			a := y.tractor(number("v", n))
			if _, err := y.EnterReadings(y.ctx, Readings{Rows: []ReadingRow{{Vehicle: number("v", n), At: y.at(0), Metres: 5}}}); err != nil {
				y.Fatal(err)
			}
			return &JudgeReading{Vehicle: a, Meter: record.Odometer, At: y.at(0), Metres: 5, Decision: record.LeaveReading}
		}},
		"AddPart": {[]Permission{Fit}, func(y *yard, n int, _ Actor) Command {
			return &AddPart{Details: record.PartAdded{Part: record.Kingpin, Serial: number("P", n)}}
		}},
		"ChangePart": {[]Permission{Fit}, func(y *yard, n int, _ Actor) Command {
			a := y.pin(number("P", n))
			return &ChangePart{Asset: a, Version: version(y, a), Details: record.PartAdded{Part: record.Kingpin, Serial: number("Q", n)}}
		}},
		"ScrapPart": {[]Permission{Fit}, func(y *yard, n int, _ Actor) Command { return &ScrapPart{Asset: y.pin(number("P", n))} }},
		"FitPart": {[]Permission{Fit}, func(y *yard, n int, _ Actor) Command {
			return &FitPart{Part: y.wheel(number("P", n)), Vehicle: y.tractor(number("v", n))}
		}},
		"RemovePart": {[]Permission{Fit}, func(y *yard, n int, _ Actor) Command { return &RemovePart{Part: fitted(y, n)} }},
		"AddType": {[]Permission{Design}, func(y *yard, n int, _ Actor) Command {
			return &AddType{Details: record.TypeAdded{Part: record.Kingpin, Name: "T"}}
		}},
		"ChangeType": {[]Permission{Design}, func(y *yard, n int, _ Actor) Command {
			a := typ(y, n)
			return &ChangeType{Asset: a, Version: version(y, a), Details: record.TypeAdded{Part: record.FifthWheel, Name: "U"}}
		}},
		"AddDepot": {[]Permission{Organise}, func(y *yard, n int, _ Actor) Command { return &AddDepot{Details: record.DepotAdded{Name: "D"}} }},
		"ChangeDepot": {[]Permission{Organise}, func(y *yard, n int, _ Actor) Command {
			a := depot(y, n)
			return &ChangeDepot{Asset: a, Version: version(y, a), Details: record.DepotAdded{Name: "E"}}
		}},
		"CloseDepot": {[]Permission{Organise}, func(y *yard, n int, _ Actor) Command { return &CloseDepot{Asset: depot(y, n)} }},
		"OpenNotice": {[]Permission{Design}, func(y *yard, n int, _ Actor) Command { return &OpenNotice{Details: notice} }},
		"ChangeNotice": {[]Permission{Design}, func(y *yard, n int, _ Actor) Command {
			a := y.must(&OpenNotice{Details: notice}).Asset
			d := notice
			d.Title = "U"
			return &ChangeNotice{Asset: a, Version: version(y, a), Details: d}
		}},
		"ClosePart": {[]Permission{Fit}, func(y *yard, n int, _ Actor) Command {
			d := notice
			d.Part, d.Serials = record.Kingpin, []string{number("P", n)}
			return &ClosePart{Notice: y.must(&OpenNotice{Details: d}).Asset, Part: y.pin(number("P", n)), Done: "seen"}
		}},
		"CloseNotice": {[]Permission{Design}, func(y *yard, n int, _ Actor) Command {
			return &CloseNotice{Notice: y.must(&OpenNotice{Details: notice}).Asset}
		}},
		"Couple": {[]Permission{Couples}, func(y *yard, n int, _ Actor) Command {
			return &Couple{Towed: y.trailer(number("t", n)), By: y.tractor(number("v", n))}
		}},
		"Uncouple": {[]Permission{Couples}, func(y *yard, n int, _ Actor) Command {
			a := y.trailer(number("t", n))
			y.must(&Couple{Towed: a, By: y.tractor(number("v", n))})
			return &Uncouple{Towed: a}
		}},
		"Attach": {[]Permission{Report}, func(y *yard, n int, _ Actor) Command {
			d, size, err := y.Store().PutBlob(y.ctx, strings.NewReader("a"))
			if err != nil {
				y.Fatal(err)
			}
			return &Attach{Asset: y.tractor(number("v", n)), Title: "T", Sort: "photo", File: Upload{d, size, "image/png"}}
		}},
		"ChangeSettings": {[]Permission{Plan}, func(y *yard, n int, _ Actor) Command {
			s, err := y.Settings(y.ctx, SettingsSet)
			if err != nil {
				y.Fatal(err)
			}
			return &ChangeSettings{Set: SettingsSet, Version: s.Version, Changes: record.Changes{Set: record.Fields{"name": Text(number("F", n))}}}
		}},
		"ChangeSettings of limits": {[]Permission{Plan, Design}, func(y *yard, n int, _ Actor) Command {
			return &ChangeSettings{Set: number("wear", n), Changes: record.Changes{Set: record.Fields{"lock": Text("2 mm")}}}
		}},
		"KeepAnswer": {[]Permission{Plan}, func(y *yard, n int, _ Actor) Command {
			a := y.trailer(number("t", n))
			return &KeepAnswer{Towed: a, Answer: kept(y, a)}
		}},
		"KeepCatalogue": {[]Permission{Design}, func(y *yard, n int, _ Actor) Command {
			return &KeepCatalogue{Name: "parts.toml", Data: []byte(number("name = \"stores ", n) + "\"\n")}
		}},
		"KeepSpecification": {[]Permission{Design}, func(y *yard, n int, _ Actor) Command { return someSheet(y, number("v", n), false) }},
		"EnterBuilt": {[]Permission{Fit}, func(y *yard, n int, _ Actor) Command {
			c := someSheet(y, number("v", n), true)
			return &EnterBuilt{Vehicle: c.Vehicle, Specification: y.must(c).Record, Measured: measured()}
		}},
		"TightenBolts": {[]Permission{Fit}, func(y *yard, n int, _ Actor) Command {
			c := someSheet(y, number("v", n), true)
			built := y.must(&EnterBuilt{Vehicle: c.Vehicle, Specification: y.must(c).Record, Measured: measured()}).Record
			return &TightenBolts{Vehicle: c.Vehicle, Built: built, Torques: []record.JointTight{{Joint: "angles", Torque: "260 N.m", Wrench: "1"}, {Joint: "plate-12", Torque: "260 N.m", Wrench: "1"}, {Joint: "wheel-185", Torque: "260 N.m", Wrench: "1"}}}
		}},
		"DoTask": {[]Permission{Fit}, func(y *yard, n int, _ Actor) Command {
			return &DoTask{Vehicle: y.tractor(number("v", n)), Task: "grease-lock"}
		}},
		"FillSheet": {[]Permission{Fit}, func(y *yard, n int, _ Actor) Command { return y.gauge(upkept(y, number("t", n)), nil) }},
		"SignWork": {[]Permission{Fit}, func(y *yard, n int, _ Actor) Command {
			a, held, steps := worn(y, number("t", n))
			return &SignWork{Vehicle: a, Outcome: held, Step: steps[0]}
		}},
		"ReturnToService": {[]Permission{Fit}, func(y *yard, n int, _ Actor) Command {
			a, held, steps := worn(y, number("t", n))
			for _, step := range steps {
				y.must(&SignWork{Vehicle: a, Outcome: held, Step: step})
			}
			y.confirmed(y.gauge(a, nil))
			return &ReturnToService{Vehicle: a}
		}},
		"BlockUse": {[]Permission{Report}, func(y *yard, n int, _ Actor) Command {
			return &BlockUse{Vehicle: y.tractor(number("v", n)), Event: "jack-knife"}
		}},
		"ClearUse": {[]Permission{Fit}, func(y *yard, n int, _ Actor) Command {
			a := upkept(y, number("t", n))
			block := y.must(&BlockUse{Vehicle: a, Event: "jack-knife"}).Record
			y.must(y.gauge(a, nil))
			return &ClearUse{Vehicle: a, Block: block, Found: "nothing bent"}
		}},
		"EnterCheck": {[]Permission{Couples}, func(y *yard, n int, _ Actor) Command {
			return &EnterCheck{Check: answered(y, yardcard.Couple, checkID(n), y.tractor(number("v", n)), y.trailer(number("t", n)), y.now())}
		}},
		"ReportDefect": {[]Permission{Report}, func(y *yard, n int, _ Actor) Command {
			return &ReportDefect{Defect: yardcard.Defect{ID: checkID(n), Asset: y.tractor(number("v", n)), Words: "bent", Name: "P", Phone: "p", At: y.now()}}
		}},
		"CloseDefect": {[]Permission{Fit}, func(y *yard, n int, _ Actor) Command {
			a := y.tractor(number("v", n))
			d := y.must(&ReportDefect{Defect: yardcard.Defect{ID: checkID(n), Asset: a, Words: "bent", Name: "P", Phone: "p", At: y.now()}}).Record
			return &CloseDefect{Vehicle: a, Defect: d, Done: "renewed"}
		}},
		"AddAccount": {[]Permission{People}, func(y *yard, n int, _ Actor) Command {
			return &AddAccount{Name: "P", Login: number("new", n), Roles: []string{record.Driver}}
		}},
		"ChangeAccount": {[]Permission{People}, func(y *yard, n int, _ Actor) Command {
			a := account(y, n)
			return &ChangeAccount{Account: a, Version: version(y, a), Name: "Q", Login: number("q", n)}
		}},
		"Permit": {[]Permission{People}, func(y *yard, n int, _ Actor) Command {
			a := account(y, n)
			return &Permit{Account: a, Version: version(y, a), Roles: []string{record.Planner}}
		}},
		"CloseAccount": {[]Permission{People}, func(y *yard, n int, _ Actor) Command { return &CloseAccount{Account: account(y, n)} }},
		"IssueToken": {[]Permission{Tokens}, func(y *yard, n int, who Actor) Command {
			return &IssueToken{Title: "T", Scopes: []Permission{Read}, Expires: y.at(0) + hour}
		}},
		"IssueToken of another": {[]Permission{Tokens, People}, func(y *yard, n int, who Actor) Command {
			return &IssueToken{Account: account(y, n), Title: "T", Scopes: []Permission{Read}, Expires: y.at(0) + hour}
		}},
		"RevokeToken of another": {[]Permission{Tokens, People}, func(y *yard, n int, who Actor) Command {
			a := account(y, n)
			y.must(&IssueToken{Account: a, Title: "T", Scopes: []Permission{Read}, Expires: y.at(0) + hour})
			all, err := y.Store().Tokens(y.ctx, a)
			if err != nil {
				y.Fatal(err)
			}
			return &RevokeToken{Account: a, Token: all[0].ID}
		}},
		"RevokeToken": {[]Permission{Tokens}, func(y *yard, n int, who Actor) Command {
			if who.Who.Account == "" {
				return &RevokeToken{}
			}
			y.must(&IssueToken{Account: who.Who.Account, Title: "T", Scopes: []Permission{Read}, Expires: y.at(0) + hour})
			all, err := y.Store().Tokens(y.ctx, who.Who.Account)
			if err != nil {
				y.Fatal(err)
			}
			return &RevokeToken{Token: all[0].ID}
		}},
		"Correct": {[]Permission{Fit, Amend}, func(y *yard, n int, _ Actor) Command {
			a := fitted(y, n)
			return &Correct{Meta: because, Record: y.newest(a), Body: record.PartFitted{Vehicle: y.tractor(number("x", n)), Place: record.AtFifthWheel}}
		}},
		"Void": {[]Permission{Design, Amend}, func(y *yard, n int, _ Actor) Command {
			return &Void{Meta: because, Record: y.newest(y.tractor(number("v", n)))}
		}},
		"Void of one's own": {[]Permission{Report}, func(y *yard, n int, who Actor) Command {
			if !who.May(Report) {
				who = other
			}
			return &Void{Meta: because, Record: noted(y, n, who)}
		}},
		"Void of another's": {[]Permission{Report, Amend}, func(y *yard, n int, _ Actor) Command {
			return &Void{Meta: because, Record: noted(y, n, other)}
		}},
		"Undo": {[]Permission{People, Amend}, func(y *yard, n int, _ Actor) Command {
			a := account(y, n)
			y.must(&Permit{Account: a, Version: version(y, a), Roles: []string{record.Manager}})
			return &Undo{Meta: because, Record: y.newest(a)}
		}},
	}
}

// newest is the id of the last record of an asset.
func (y *yard) newest(a record.Asset) record.ID {
	y.Helper()
	h, err := y.History(y.ctx, a, 0, 1)
	if err != nil {
		y.Fatal(err)
	}
	return h.Events[0].ID
}

// people are one person of each role, with accounts, and nobody.
func (y *yard) people() map[string]Actor {
	y.Helper()
	all := map[string]Actor{"nobody": {}}
	for _, role := range Roles() {
		a := y.must(&AddAccount{Name: role, Login: role, Roles: []string{role}}).Asset
		all[role] = Actor{Who: record.Who{Account: a, Name: role}, Roles: []string{role}}
	}
	return all
}

// TestEveryCommandIsTried finds the commands in the source, so that none can be
// left out of the table below.
func TestEveryCommandIsTried(t *testing.T) {
	files, err := filepath.Glob("*.go")
	if err != nil || len(files) == 0 {
		t.Fatal(err)
	}
	found := 0
	for _, file := range files {
		parsed, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range parsed.Decls {
			f, ok := d.(*ast.FuncDecl)
			if !ok || f.Name.Name != "spec" || f.Recv == nil {
				continue
			}
			found++
			name := f.Recv.List[0].Type.(*ast.StarExpr).X.(*ast.Ident).Name
			if _, tried := commands()[name]; !tried {
				t.Errorf("%s is not tried with every role", name)
			}
		}
	}
	if found < 30 {
		t.Errorf("%d commands found, expected more", found)
	}
}

// TestRolesAndCommands tries every command as every role.
func TestRolesAndCommands(t *testing.T) {
	y := newYard(t)
	people := y.people()
	n, cells := 0, 0
	for name, c := range commands() {
		for role, who := range people {
			n++
			command := c.make(y, n, who)
			if got := reflect.TypeOf(command).Elem().Name(); got != strings.Fields(name)[0] {
				t.Fatalf("%s makes a %s", name, got)
			}
			allowed := true
			for _, p := range c.needs {
				allowed = allowed && slices.Contains(permissions[role], p)
			}
			before, err := y.Store().Recent(y.ctx, 0, 1)
			if err != nil {
				t.Fatal(err)
			}
			_, err = y.Do(y.as(who), command)
			after, errAfter := y.Store().Recent(y.ctx, 0, 1)
			if errAfter != nil {
				t.Fatal(errAfter)
			}
			_, refused := errors.AsType[*NotAllowed](err)
			switch {
			case allowed && err != nil:
				t.Errorf("%s as %s: %v, expected that it may", name, role, err)
			case !allowed && !refused:
				t.Errorf("%s as %s: %v, expected a *NotAllowed", name, role, err)
			case refused && before[0].Number != after[0].Number:
				t.Errorf("%s as %s was refused and entered nevertheless", name, role)
			}
			cells++
		}
	}
	if want := len(commands()) * (len(Roles()) + 1); cells != want {
		t.Errorf("%d cells, expected %d", cells, want)
	}
}

// TestRolesAndQuestions tries every question as every role.
func TestRolesAndQuestions(t *testing.T) {
	y := newYard(t)
	people := y.people()
	vehicle, part := y.tractor("heron-07"), y.wheel("FW 1")
	depot := y.must(&AddDepot{Details: record.DepotAdded{Name: "D"}}).Asset
	typ := y.must(&AddType{Details: record.TypeAdded{Part: record.Kingpin, Name: "T"}}).Asset
	notice := y.must(&OpenNotice{Details: record.NoticeOpened{Title: "T", Part: "other", Action: "look"}}).Asset
	blob, _, err := y.Store().PutBlob(y.ctx, strings.NewReader("a"))
	if err != nil {
		t.Fatal(err)
	}
	someone := people[record.Driver].Who.Account
	sheet := y.must(someSheet(y, "wren-9", false))
	private, _, err := y.NewSealKey()
	if err != nil {
		t.Fatal(err)
	}
	key, err := ReadSealKey(private)
	if err != nil {
		t.Fatal(err)
	}
	one := func(fn func(context.Context) error) func(context.Context) error { return fn }
	questions := map[string]struct {
		needs Permission
		ask   func(context.Context) error
	}{
		"VehiclePage": {Read, one(func(c context.Context) error { _, err := y.VehiclePage(c, vehicle); return err })},
		"PartPage":    {Read, one(func(c context.Context) error { _, err := y.PartPage(c, part); return err })},
		"TypePage":    {Read, one(func(c context.Context) error { _, err := y.TypePage(c, typ); return err })},
		"DepotPage":   {Read, one(func(c context.Context) error { _, err := y.DepotPage(c, depot); return err })},
		"NoticePage":  {Read, one(func(c context.Context) error { _, err := y.NoticePage(c, notice); return err })},
		"BoltsDue":    {Read, one(func(c context.Context) error { _, err := y.BoltsDue(c); return err })},
		"Catalogue":   {Read, one(func(c context.Context) error { _, err := y.Catalogue(c); return err })},
		"SheetPage":   {Read, one(func(c context.Context) error { _, err := y.SheetPage(c, sheet.Asset, sheet.Record); return err })},
		"SheetInputs": {Read, one(func(c context.Context) error {
			_, err := y.SheetInputs(c, &y.vehiclePage(sheet.Asset).Vehicle.Sheets[0])
			return err
		})},
		"OpenNotices":      {Read, one(func(c context.Context) error { _, err := y.OpenNotices(c); return err })},
		"Settings":         {Read, one(func(c context.Context) error { _, err := y.Settings(c, SettingsSet); return err })},
		"List":             {Read, one(func(c context.Context) error { _, err := y.List(c, ListQuery{Kind: record.VehicleAsset}); return err })},
		"List of accounts": {ReadPeople, one(func(c context.Context) error { _, err := y.List(c, ListQuery{Kind: record.AccountAsset}); return err })},
		"Find":             {Read, one(func(c context.Context) error { _, err := y.Find(c, "heron", 5); return err })},
		"ByNumber":         {Read, one(func(c context.Context) error { _, err := y.ByNumber(c, "heron-07"); return err })},
		"Fleet":            {Read, one(func(c context.Context) error { _, err := y.Fleet(c); return err })},
		"FleetOf":          {Read, one(func(c context.Context) error { _, err := y.FleetOf(c, "heron-07"); return err })},
		"History":          {Read, one(func(c context.Context) error { _, err := y.History(c, vehicle, 0, 5); return err })},
		"History of an account": {ReadPeople, one(func(c context.Context) error {
			_, err := y.History(c, people[record.Manager].Who.Account, 0, 5)
			return err
		})},
		"Recent":        {Read, one(func(c context.Context) error { _, _, err := y.Recent(c, 0, 5); return err })},
		"Mileage":       {Read, one(func(c context.Context) error { _, err := y.Mileage(c, vehicle, 1, 2); return err })},
		"Document":      {Read, one(func(c context.Context) error { f, err := y.Document(c, blob); closeIt(f); return err })},
		"Upload":        {Report, one(func(c context.Context) error { _, err := y.Upload(c, bytes.NewReader([]byte("%PDF-1.7"))); return err })},
		"EnterReadings": {Report, one(func(c context.Context) error { _, err := y.EnterReadings(c, Readings{}); return err })},
		"Import":        {Import, one(func(c context.Context) error { _, err := y.Import(c, Delivery{}, DryRun); return err })},
		"Export":        {Operate, one(func(c context.Context) error { return y.Export(c, new(bytes.Buffer)) })},
		"Rebuild":       {Operate, one(func(c context.Context) error { return y.Rebuild(c) })},
		"Seal":          {Operate, one(func(c context.Context) error { _, _, err := y.Seal(c, key); return err })},
		"Verify":        {Prove, one(func(c context.Context) error { _, err := y.Verify(c); return err })},
		"AccountPage": {ReadPeople, one(func(c context.Context) error {
			_, err := y.AccountPage(c, people[record.Manager].Who.Account)
			return err
		})},
		"AccountOf": {ReadPeople, one(func(c context.Context) error { _, err := y.AccountOf(c, "driver"); return err })},
		"Sessions":  {ReadPeople, one(func(c context.Context) error { _, err := y.Sessions(c, ""); return err })},
		"TokensOf":  {ReadPeople, one(func(c context.Context) error { _, err := y.TokensOf(c, ""); return err })},
		"NewLink":   {People, one(func(c context.Context) error { _, err := y.NewLink(c, someone); return err })},
	}
	for name, q := range questions {
		for role, who := range people {
			err := q.ask(y.as(who))
			_, refused := errors.AsType[*NotAllowed](err)
			switch allowed := slices.Contains(permissions[role], q.needs); {
			case role == record.Manager && name == "History of an account", role == record.Manager && name == "AccountPage":
				if err != nil {
					t.Errorf("%s of oneself: %v", name, err)
				}
			case allowed && err != nil:
				t.Errorf("%s as %s: %v, expected that they may", name, role, err)
			case !allowed && !refused:
				t.Errorf("%s as %s: %v, expected a *NotAllowed", name, role, err)
			}
		}
	}
}

func closeIt(f interface{ Close() error }) {
	if !reflect.ValueOf(&f).Elem().IsNil() {
		f.Close()
	}
}

// TestTableInTheManual holds the table that people read against the one that
// decides.
func TestTableInTheManual(t *testing.T) {
	text, err := os.ReadFile("../doc/register.md")
	if err != nil {
		t.Fatal(err)
	}
	var roles []string
	seen := map[Permission]bool{}
	for line := range strings.Lines(string(text)) {
		cells := strings.Split(strings.TrimSpace(line), "|")
		if len(cells) != len(Roles())+3 {
			continue
		}
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		if cells[1] == "" {
			roles = cells[2 : len(cells)-1]
		}
		word, _, _ := strings.Cut(cells[1], ":")
		p := Permission(word)
		if _, known := words[p]; !known {
			continue
		}
		seen[p] = true
		for i, role := range roles {
			if told, may := cells[i+2] == "●", slices.Contains(permissions[role], p); told != may {
				t.Errorf("%s, %s: the manual says %v, the program %v", role, p, told, may)
			}
		}
	}
	if !slices.Equal(roles, Roles()) || len(seen) != len(words) {
		t.Errorf("the manual has roles %v and %d permissions, the program %v and %d", roles, len(seen), Roles(), len(words))
	}
}

// TestAuditorChangesNothing: the role that only reads has no permission with which
// a record is entered.
func TestAuditorChangesNothing(t *testing.T) {
	for _, c := range commands() {
		if slices.ContainsFunc(c.needs, func(p Permission) bool { return !slices.Contains(permissions[record.Auditor], p) }) {
			continue
		}
		t.Errorf("a command needs no more than %v", c.needs)
	}
}

func TestDepotsLimitChanges(t *testing.T) {
	y := newYard(t)
	north := y.must(&AddDepot{Details: record.DepotAdded{Name: "North"}}).Asset
	south := y.must(&AddDepot{Details: record.DepotAdded{Name: "South"}}).Asset
	who := Actor{Who: record.Who{Name: "Bea"}, Roles: []string{record.Engineer}, Depots: []record.Asset{north}}
	add := func(number string, depot record.Asset) error {
		_, err := y.Do(y.as(who), &AddVehicle{Details: record.VehicleAdded{Vehicle: record.Tractor, Depot: depot, Fields: y.numbered(tractorFields, number)}})
		return err
	}
	if err := add("n-1", north); err != nil {
		t.Error(err)
	}
	if _, refused := errors.AsType[*NotAllowed](add("s-1", south)); !refused {
		t.Error("a vehicle of another depot was added")
	}
	a := y.must(&AddVehicle{Details: record.VehicleAdded{Vehicle: record.Tractor, Depot: south, Fields: y.numbered(tractorFields, "s-2")}}).Asset
	page, err := y.VehiclePage(y.as(who), a)
	if err != nil {
		t.Fatalf("reading is not limited: %v", err)
	}
	d := page.Vehicle.VehicleAdded
	d.Depot = north
	for _, c := range []Command{
		&ChangeVehicle{Asset: a, Version: page.Version, Details: d}, &ScrapVehicle{Asset: a},
		&FitPart{Part: y.wheel("FW 1"), Vehicle: a}, &Void{Meta: Meta{Reason: "x"}, Record: y.newest(a)},
	} {
		if _, err := y.Do(y.as(who), c); err == nil || !strings.Contains(err.Error(), "depot") {
			t.Errorf("%T: %v, expected that the depot is not theirs", c, err)
		}
	}
}
