package web

import (
	"fmt"
	"html/template"
	"strings"
)

// A formView is a form as a page shows it.
type formView struct {
	Head   string
	Lead   string
	Action string
	Back   string
	Save   string // words of the button
	Hidden []hiddenView
	Parts  []partView
	Wrong  []wrongLink
	Note   string // told above the form, such as that a row was added
	File   bool

	When, Reason, Upload *inputView
}

type hiddenView struct{ Name, Value string }

// A partView is a part of the form under one head.
type partView struct {
	ID, Head, Doc string
	Inputs        []inputView
}

// An inputView is one field, or a table or list of them.
type inputView struct {
	Path, ID, Label, Doc, Help string
	Value                      string
	Options                    []option
	Wrong                      string
	Must                       bool
	Fixed                      string // its value, when it cannot be changed
	Lines                      int    // of a text of several lines
	Hidden                     bool
	Bare                       bool // its part's head says what it is

	Inputs []inputView // of a table
	List   *listView
}

// A listView is a list: its items side by side, each field with its help once, or
// one below the other.
type listView struct {
	Path, One string
	Heads     []rowHead
	Rows      []rowView  // side by side: one row a field
	Items     []itemView // one below the other
	Full      bool
	Wrong     string
}

type rowHead struct {
	Text string
	Drop string // value of the button that drops it
}

// A rowView is one field of all the items of a list.
type rowView struct {
	Label, Doc, Help string
	Cells            []inputView
	Table            bool // a head above rows that belong together
}

type itemView struct {
	Head, Drop string
	Inputs     []inputView
}

type wrongLink struct{ ID, Where, Text string }

// A formMaker turns fields and what stands in them into a view.
type formMaker struct {
	fields []field
	typed  typed
	wrong  map[string]string
	more   map[string]int // empty items to show behind those of a list
	seen   map[string]bool
}

func (m *formMaker) inputs(fields []field, path string) []inputView {
	views := make([]inputView, 0, len(fields))
	for i := range fields {
		views = append(views, m.input(&fields[i], path))
	}
	return views
}

func (m *formMaker) input(f *field, path string) inputView {
	at := path + f.Key
	v := inputView{Path: at, ID: inputID(at), Label: f.Label, Doc: f.Doc, Help: help(f), Value: m.typed[at], Must: f.Must, Wrong: m.takeWrong(at)}
	switch f.Sort {
	case tableSort:
		v.Inputs = m.inputs(f.Fields, at+".")
	case listSort:
		v.List = m.list(f, at)
		v.List.Wrong, v.Wrong = v.Wrong, ""
	case hiddenSort:
		v.Hidden = true
	case wordsSort, linesSort:
		v.Lines = min(max(2, strings.Count(v.Value, "\n")+2), 14)
	case choiceSort, yesNoSort, flagSort:
		v.Options = choices(f, v.Value)
	}
	if f.Fixed && v.Value != "" && v.Wrong == "" {
		v.Fixed = v.Value
		for _, o := range v.Options {
			if o.Selected {
				v.Fixed = o.Text
			}
		}
	}
	return v
}

// takeWrong returns what is wrong at a path, and notes that it is shown.
func (m *formMaker) takeWrong(at string) string {
	if w, have := m.wrong[at]; have {
		m.seen[at] = true
		return w
	}
	return ""
}

func choices(f *field, value string) []option {
	given := f.Choices
	unknown := "unknown"
	switch f.Sort {
	case yesNoSort:
		given = []option{{Value: "yes", Text: "yes"}, {Value: "no", Text: "no"}}
	case flagSort:
		given, unknown = []option{{Value: "yes", Text: "yes"}}, "no"
	}
	if f.Must {
		unknown = "choose"
	}
	var all []option
	if !f.Must || value == "" {
		all = append(all, option{Text: unknown, Selected: value == ""})
	}
	found := value == ""
	for _, o := range given {
		o.Selected = o.Value == value
		found = found || o.Selected
		all = append(all, o)
	}
	if !found { // kept as it came, so that nothing typed is lost
		all = append(all, option{value, value, true})
	}
	return all
}

func (m *formMaker) list(f *field, at string) *listView {
	n := m.typed.rows(at) + m.more[at]
	l := &listView{Path: at, One: f.One, Full: n >= mostRows}
	for k := range n {
		head := fmt.Sprintf("%s %d", capital(f.One), k+1)
		drop := fmt.Sprintf("%s[%d]", at, k)
		if f.Apart {
			l.Items = append(l.Items, itemView{head, drop, m.inputs(f.Fields, drop+".")})
			continue
		}
		l.Heads = append(l.Heads, rowHead{head, drop})
	}
	if !f.Apart && n > 0 {
		l.Rows = m.rows(f.Fields, at, "", f.One, n)
	}
	for k := range n { // what is wrong with an item as a whole
		if w := m.takeWrong(fmt.Sprintf("%s[%d]", at, k)); w != "" {
			l.Wrong = strings.TrimPrefix(l.Wrong+"; "+fmt.Sprintf("%s %d: %s", f.One, k+1, w), "; ")
		}
	}
	return l
}

func (m *formMaker) rows(fields []field, at, inner, one string, n int) []rowView {
	var rows []rowView
	for i := range fields {
		f := &fields[i]
		row := rowView{Label: f.Label, Doc: f.Doc, Help: help(f)}
		if f.Sort == tableSort {
			row.Table = true
			rows = append(append(rows, row), m.rows(f.Fields, at, inner+f.Key+".", one, n)...)
			continue
		}
		for k := range n {
			c := m.input(f, fmt.Sprintf("%s[%d].%s", at, k, inner))
			c.Label = fmt.Sprintf("%s %d: %s", capital(one), k+1, lower(f.Label))
			row.Cells = append(row.Cells, c)
		}
		rows = append(rows, row)
	}
	return rows
}

// help says how a field is taken and what is accepted.
func help(f *field) string {
	var parts []string
	if f.Tape != "" {
		parts = append(parts, f.Tape)
	}
	if f.Accept != "" {
		parts = append(parts, "Accepted: "+f.Accept+".")
	}
	return strings.Join(parts, " ")
}

// wrongs lists everything that is wrong, with links to what is shown; what has no
// field of its own stands in words.
func (m *formMaker) wrongs(all []wrong) []wrongLink {
	var links []wrongLink
	for _, w := range all {
		link := wrongLink{Text: w.String(), Where: w.Where}
		if m.seen[w.Where] {
			link.ID = inputID(w.Where)
		}
		if _, words := findField(m.fields, w.Where); words != "" {
			link.Where = words
		}
		links = append(links, link)
	}
	return links
}

// inputID is an id that CSS and links can name.
func inputID(path string) string {
	return "f-" + strings.NewReplacer("[", "-", "]", "", ".", "-", "_", "-").Replace(path)
}

// Anchor is the id as the target of a link.
func (w wrongLink) Anchor() template.URL { return template.URL("#" + w.ID) }
