package web

import (
	"bytes"
	"fmt"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"underpin/fleet"
	"underpin/record"
	"underpin/report"
	"underpin/rule"
	"underpin/unit"
	yardcard "underpin/yard" // its own name is a type of the tests here
)

// yardRoutes are the pages of the yard. A card is opened by the name on a vehicle's
// label, which cannot be guessed, and needs no account; entering what was done does.
func (s *site) yardRoutes() []route {
	return []route{
		{"GET /yard/labels", fleet.Read, s.labelsPage},
		{"GET /vehicles/{id}/card", anyone, s.cardPage},
		{"POST /vehicles/{id}/card", fleet.Couples, s.sendCheck},
	}
}

// oldestYard is how old data may be before the card tells nothing any more. Ours.
const oldestYard = 12 * 3600 * record.Time(1_000_000)

var yardPages = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("yard.html").ParseFS(templateFiles, "templates/yard.html"))
})

// A cardView is what templates/yard.html shows as a card.
type cardView struct {
	Lang         yardcard.Language
	Half, Other  *fleet.YardHalf
	Flow         yardcard.Flow
	Flows        []cardLink
	Languages    []cardLink
	Card         *yardcard.Card
	Allowed      yardcard.Allowed
	Shape        string
	SignedIn     bool
	ID, Began    string
	Path, With   string
	As           string
	Out          *yardcard.Outcome
	Done         *fleet.Done
	Labels       []labelView
	CSS          string
	LabelsBeside string
}

type cardLink struct {
	Text, To string
	Here     bool
}

type labelView struct {
	Number, Name, To string
	Code             *report.Code
}

// Say is a message in the language of the card.
func (v *cardView) Say(m yardcard.Message) string { return m.In(v.Lang) }

// Word is a text in the language of the card.
func (v *cardView) Word(k yardcard.Key) string { return k.In(v.Lang) }

// T is one of two texts of the page itself, by language.
func (v *cardView) T(english, german string) string {
	if v.Lang == yardcard.German {
		return german
	}
	return english
}

// Metres writes whole millimetres in metres.
func (v *cardView) Metres(mm int64) string {
	text := strconv.FormatFloat(float64(mm)/1000, 'f', 2, 64)
	if float64(mm)/1000 > mustFloat(text) {
		text = strconv.FormatFloat(mustFloat(text)+0.01, 'f', 2, 64) // a height is never rounded down
	}
	if v.Lang == yardcard.German {
		text = strings.Replace(text, ".", ",", 1)
	}
	return text + " m"
}

func mustFloat(s string) float64 { f, _ := strconv.ParseFloat(s, 64); return f }

var flowWords = map[yardcard.Flow][2]string{
	yardcard.Couple: {"Couple", "Aufsatteln"}, yardcard.Restricted: {"Couple, lines out of reach", "Aufsatteln, Leitungen nicht erreichbar"},
	yardcard.Uncouple: {"Uncouple", "Absatteln"}, yardcard.Drop: {"Drop the trailer", "Auflieger abstellen"}, yardcard.Slide: {"Move the slider", "Sattelkupplung verschieben"},
}

// card reads the address of a card: which vehicle, with which other, what is done.
func (s *site) card(r *http.Request) (*cardView, yardcard.Pair, error) {
	v := &cardView{Lang: yardcard.English, Path: r.URL.Path, CSS: "/static/yard.css?" + yardStyle(), SignedIn: may(r.Context(), fleet.Couples)}
	if l := yardcard.Language(r.FormValue("lang")); slices.Contains(yardcard.Languages(), l) {
		v.Lang = l
	} else if l == "" && strings.HasPrefix(r.Header.Get("Accept-Language"), "de") {
		v.Lang = yardcard.German
	}
	half, err := s.Register.YardHalf(r.Context(), record.NewAsset(record.VehicleAsset, r.PathValue("id")))
	if err != nil {
		return nil, yardcard.Pair{}, err
	}
	v.Half = half
	if with := strings.TrimSpace(r.FormValue("with")); with != "" {
		a := record.NewAsset(record.VehicleAsset, with)
		if v.SignedIn { // whoever is known here may name it by its number as well
			if named, err := s.Register.ByNumber(r.Context(), with); err == nil {
				a = named
			}
		}
		if v.Other, err = s.Register.YardHalf(r.Context(), a); err != nil {
			return nil, yardcard.Pair{}, err
		}
		if v.Other.Tractor == half.Tractor {
			return nil, yardcard.Pair{}, &badInput{"with", v.Other.Number, "the other half of a pair"}
		}
		v.With = v.Other.Asset.Name()
	}
	tractor, trailer := v.halves()
	p := fleet.YardPair(tractor, trailer)
	offered := p.Facts.Offered()
	v.Flow = offered[0]
	if f := yardcard.Flow(r.FormValue("flow")); slices.Contains(offered, f) {
		v.Flow = f
	}
	asked := yardcard.Asked{Known: record.At(time.Now()), Now: record.At(time.Now()), Oldest: oldestYard}
	for _, h := range []*fleet.YardHalf{tractor, trailer} {
		if h != nil {
			asked.Blocks = append(asked.Blocks, h.Blocks...)
		}
	}
	if tractor != nil && trailer != nil {
		s.pairAsked(r, tractor, trailer, &asked, &p)
	}
	v.Allowed = yardcard.Allow(asked)
	v.Shape = map[rule.Answer]string{rule.Fits: "●", rule.FitsIf: "▲", rule.DoesNotFit: "✕", yardcard.DoNotUse: "✕"}[v.Allowed.Says]
	if v.Shape == "" {
		v.Shape = "○"
	}
	if v.Card, err = yardcard.NewCard(v.Flow, p); err != nil {
		return nil, p, err
	}
	link := func(flow yardcard.Flow, lang yardcard.Language) string {
		q := url.Values{"flow": {string(flow)}, "lang": {string(lang)}}
		if v.With != "" {
			q.Set("with", v.With)
		}
		return r.URL.Path + "?" + q.Encode()
	}
	for _, f := range offered {
		v.Flows = append(v.Flows, cardLink{v.T(flowWords[f][0], flowWords[f][1]), link(f, v.Lang), f == v.Flow})
	}
	v.Languages = []cardLink{{"English", link(v.Flow, yardcard.English), v.Lang == yardcard.English}, {"Deutsch", link(v.Flow, yardcard.German), v.Lang == yardcard.German}}
	v.As = time.Now().UTC().Format("2006-01-02 15:04") + " UTC"
	return v, p, nil
}

func (v *cardView) halves() (tractor, trailer *fleet.YardHalf) {
	if v.Half.Tractor {
		return v.Half, v.Other
	}
	return v.Other, v.Half
}

// pairAsked works out whether a pair may be coupled. It looks at these two vehicles
// alone, whose labels were both shown.
func (s *site) pairAsked(r *http.Request, tractor, trailer *fleet.YardHalf, a *yardcard.Asked, p *yardcard.Pair) {
	ctx := fleet.WithActor(r.Context(), fleet.Operator("yard card"))
	now, err := s.Register.FleetOf(ctx, tractor.Number, trailer.Number)
	if err != nil || len(now.Left) > 0 {
		a.Answer, a.Missing = rule.CannotTell, []string{"what the register lacks of these vehicles"}
		return
	}
	q := url.Values{"tractor": {tractor.Number}, "trailer": {trailer.Number}}
	ask, pairing, result, err := s.read(&http.Request{URL: &url.URL{RawQuery: q.Encode()}}, &now.FleetFile)
	if err != nil {
		a.Answer, a.Missing = rule.CannotTell, []string{"an answer for this pair"}
		return
	}
	p.Country = ask.Law
	a.Answer = result.Answer
	told := pairing.Tell(result, unit.Metric)
	a.Reason = strings.TrimSuffix(told.Lead, ".")
	if result.Answer == rule.FitsIf {
		a.Setting = a.Reason
	}
	if result.Answer == rule.CannotTell {
		a.Missing = []string{a.Reason}
	}
}

func (s *site) cardPage(w http.ResponseWriter, r *http.Request) {
	v, _, err := s.card(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	v.ID, v.Began = string(newID()), strconv.FormatInt(int64(record.At(time.Now())), 10)
	s.yardPage(w, r, http.StatusOK, v)
}

// sendCheck enters a check that was filled in without script: all answers at once,
// so that how fast each was given is not known, which the record says by itself.
func (s *site) sendCheck(w http.ResponseWriter, r *http.Request) {
	if err := s.parse(w, r); err != nil {
		s.fail(w, r, err)
		return
	}
	v, p, err := s.card(r)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	began, err := strconv.ParseInt(r.PostFormValue("began"), 10, 64)
	now := record.At(time.Now())
	if err != nil || began <= 0 || record.Time(began) > now || v.Other == nil || r.PostFormValue("id") == "" {
		s.fail(w, r, &badInput{"check", "a form that is not whole", "the card of a pair, opened here"})
		return
	}
	tractor, trailer := v.halves()
	ahead := int64(0)
	k := yardcard.Check{ID: record.ID(r.PostFormValue("id")), Edition: yardcard.Edition, Flow: v.Flow, Country: p.Country, Language: v.Lang,
		Tractor: yardcard.Vehicle{Asset: tractor.Asset}, Trailer: yardcard.Vehicle{Asset: trailer.Asset}, Facts: p.Facts, Allowed: v.Allowed,
		Phone: "a page without script", Clock: yardcard.Clock{Ahead: &ahead}, Began: record.Time(began)}
	if p.Coupling != nil {
		n := int64(p.Coupling.Millimetres() + 0.5)
		k.Coupling = &n
	}
	steps := v.Card.Steps()
	for _, step := range steps {
		text := trimmed(r, step.Key)
		if text == "" {
			continue
		}
		a := yardcard.Answer{Step: step.Key, At: now}
		switch step.Ask.Kind {
		case yardcard.Seen:
			a.Seen = yardcard.YesNo(text)
		case yardcard.Number:
			n, err := strconv.ParseInt(text, 10, 64)
			if err != nil {
				s.fail(w, r, &badInput{step.Text.In(v.Lang), text, "a whole number in " + step.Ask.Unit})
				return
			}
			a.Number = &n
		case yardcard.Words:
			a.Words = text
		case yardcard.Choice:
			a.Choice = yardcard.Key(text)
		}
		k.Answers = append(k.Answers, a)
	}
	if r.PostFormValue("sign") != "" {
		k.Signed = &yardcard.Signature{Name: fleet.ActorFrom(r.Context()).Who.Name, At: now}
	}
	done, err := s.Register.Do(r.Context(), &fleet.EnterCheck{Check: k})
	if err != nil {
		s.fail(w, r, err)
		return
	}
	out, err := k.Outcome()
	if err != nil {
		s.fail(w, r, err)
		return
	}
	v.Done, v.Out = done, &out
	s.yardPage(w, r, http.StatusOK, v)
}

// labelsPage is a sheet of labels, printed on A4: a code and the number beside it.
func (s *site) labelsPage(w http.ResponseWriter, r *http.Request) {
	base := s.URL
	if base == "" {
		base = "http://" + r.Host
	}
	v := &cardView{Lang: yardcard.English, CSS: "/static/yard.css?" + yardStyle()}
	list, err := s.Register.List(r.Context(), fleet.ListQuery{Kind: record.VehicleAsset})
	if err != nil {
		s.fail(w, r, err)
		return
	}
	for _, i := range list.Items {
		h, err := s.Register.YardHalf(r.Context(), i.Asset)
		if err != nil {
			s.fail(w, r, err)
			return
		}
		if h.Scrapped {
			continue
		}
		to := strings.TrimSuffix(base, "/") + "/vehicles/" + i.Asset.Name() + "/card"
		code, err := report.QR(to)
		if err != nil {
			s.fail(w, r, fmt.Errorf("a label: %w", err))
			return
		}
		v.Labels = append(v.Labels, labelView{h.Number, h.Name, to, code})
	}
	s.yardPage(w, r, http.StatusOK, v)
}

func (s *site) yardPage(w http.ResponseWriter, r *http.Request, status int, v *cardView) {
	var b bytes.Buffer
	if err := yardPages().Execute(&b, v); err != nil {
		s.Log.Error("template failed", "page", "yard", "error", err)
		http.Error(w, "The page could not be made; the fault is in the log.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	if r.Method != http.MethodHead {
		w.Write(b.Bytes())
	}
}

// yardStyle changes the stylesheet's address with what is in it.
var yardStyle = sync.OnceValue(func() string {
	b, _ := staticFiles.ReadFile("static/yard.css")
	return record.DigestOf(b).String()[:12]
})
