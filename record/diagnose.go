package record

import (
	"fmt"
	"maps"
	"slices"
)

// A link is one row of a chain that is looked at closely.
type link struct {
	Stored
	digest Digest // of the bytes as they stand
	r      Record
	err    error // why the bytes are no record
}

// honest tells whether the bytes are a record with the digest that was stored
// beside it. What other bytes say of themselves is worth nothing.
func (l *link) honest() bool { return l.err == nil && l.digest == l.Stored.Digest }

// foreign tells whether the row holds another chain's record.
func (l *link) foreign(name Asset) bool { return l.honest() && l.r.Asset != name }

// ends tells whether a record that names d as the one before was entered after
// this one: d is the digest of its bytes, or the one that was stored with it.
func (l *link) ends(d Digest) bool { return d == l.Stored.Digest || l.err == nil && d == l.digest }

// diagnose says what happened to a chain in which something is amiss. It goes
// from the beginning and takes at each step the row that names the one before,
// wherever it stands. Where there is none the chain is torn: a record is missing,
// or the last one is not what it was. Rows that are left over were inserted, and
// rows that were taken in another order than they stand in were reordered.
func (v *verifier) diagnose(name Asset, c *chainEnd, rows []Stored) {
	links := make([]link, len(rows))
	for i, s := range rows {
		l := &links[i]
		l.Stored, l.digest = s, DigestOf(s.Bytes)
		if l.err = l.r.decode(s.Bytes); l.foreign(name) {
			v.fault(Fault{What: Inserted, Asset: name, Seq: s.Seq, ID: s.ID, Why: "it belongs to " + string(l.r.Asset)})
		}
	}
	w := walk{v: v, name: name, links: links, taken: make([]bool, len(links)), bad: map[int64]bool{}}
	for w.step() {
	}
	for i := range links {
		l := &links[i]
		w.resized = w.resized || !w.taken[i]
		if !w.taken[i] && !l.foreign(name) {
			v.fault(Fault{What: Inserted, Asset: name, Seq: l.Stored.Seq, ID: l.Stored.ID, Why: "no record of the chain was entered after it, nor it after one of them"})
		}
	}
	w.order()
	w.end(c)
}

// A walk follows a chain that is not sound.
type walk struct {
	v       *verifier
	name    Asset
	links   []link
	taken   []bool
	path    []int          // rows in the order in which they were entered
	bad     map[int64]bool // numbers of which something was reported
	resized bool           // rows were inserted or removed, so that numbers may have shifted
	seq     int64          // number of the last row taken
}

func (w *walk) last() *link {
	if len(w.path) == 0 {
		return nil
	}
	return &w.links[w.path[len(w.path)-1]]
}

func (w *walk) report(what string, seq int64, id ID, why string) {
	w.bad[seq] = true
	w.v.fault(Fault{What: what, Asset: w.name, Seq: seq, ID: id, Why: why})
}

// step takes one more row, and returns false when none is left that belongs.
func (w *walk) step() bool {
	best := -1
	for i := range w.links {
		l := &w.links[i]
		if w.taken[i] || l.foreign(w.name) {
			continue
		}
		follows := l.honest() && w.follows(l)
		unreadable := !l.honest() && l.Stored.Seq == w.seq+1
		if !follows && !unreadable {
			continue
		}
		if best < 0 || w.continues(i) && !w.continues(best) {
			best = i
		}
	}
	if best < 0 {
		if best = w.torn(); best < 0 {
			return false
		}
	}
	w.take(best)
	return true
}

func (w *walk) follows(l *link) bool {
	if last := w.last(); last != nil {
		return last.ends(l.r.Previous)
	}
	return l.r.Previous.Zero()
}

// continues tells whether another row was entered after row i.
func (w *walk) continues(i int) bool {
	for j := range w.links {
		if j != i && w.links[j].err == nil && w.links[i].ends(w.links[j].r.Previous) {
			return true
		}
	}
	return false
}

// torn says what is missing where no row follows the last one, and returns the
// row with which the chain goes on.
func (w *walk) torn() int {
	next := -1
	for i := range w.links {
		l := &w.links[i]
		if w.taken[i] || !l.honest() || l.foreign(w.name) || l.r.Seq <= w.seq {
			continue
		}
		if next < 0 || l.r.Seq < w.links[next].r.Seq {
			next = i
		}
	}
	if next < 0 {
		return -1
	}
	l := &w.links[next]
	switch last := w.last(); {
	case l.r.Seq > w.seq+1:
		w.resized = true
		w.report(Removed, w.seq+1, "", fmt.Sprintf("%s missing before record %d (%s)", count(l.r.Seq-w.seq-1), l.r.Seq, l.r.ID))
	case last == nil:
		w.report(Altered, l.Stored.Seq, l.Stored.ID, "it begins the chain and names a record before it")
	case !w.bad[w.seq]:
		w.report(Altered, w.seq, last.Stored.ID,
			fmt.Sprintf("record %d was entered after one with the digest %s, and this one has %s: it was altered or replaced, and its digest with it", l.r.Seq, l.r.Previous, last.digest))
	}
	return next
}

func (w *walk) take(i int) {
	l := &w.links[i]
	w.taken[i] = true
	w.path = append(w.path, i)
	switch w.seq++; {
	case l.err != nil:
		w.report(Altered, l.Stored.Seq, l.Stored.ID, "its bytes are no record any more: "+l.err.Error())
		return
	case l.digest != l.Stored.Digest:
		w.report(Altered, l.Stored.Seq, l.Stored.ID, "its bytes have the digest "+l.digest.String()+", and "+l.Stored.Digest.String()+" was stored with it")
	case l.r.ID != l.Stored.ID:
		w.report(Altered, l.Stored.Seq, l.Stored.ID, "the store calls it "+string(l.Stored.ID)+", and it calls itself "+string(l.r.ID))
	case l.r.Kind != l.Stored.Kind:
		w.report(Altered, l.Stored.Seq, l.Stored.ID, "the store calls it a "+l.Stored.Kind+", and it calls itself a "+l.r.Kind)
	}
	if l.honest() {
		w.seq = max(w.seq, l.r.Seq)
	}
}

// order reports the rows that stand elsewhere than they were entered: those
// outside the longest run of rows that stand in the order of the path.
func (w *walk) order() {
	best, from := make([]int, len(w.path)), make([]int, len(w.path))
	end := -1
	for i := range w.path {
		best[i], from[i] = 1, -1
		for j := max(0, i-64); j < i; j++ { // near enough: who moves rows moves few
			if w.path[j] < w.path[i] && best[j] >= best[i] {
				best[i], from[i] = best[j]+1, j
			}
		}
		if end < 0 || best[i] > best[end] {
			end = i
		}
	}
	inOrder := make([]bool, len(w.path))
	for ; end >= 0; end = from[end] {
		inOrder[end] = true
	}
	bad := maps.Clone(w.bad)
	for i, at := range w.path {
		l := &w.links[at]
		if !l.honest() || bad[l.r.Seq] {
			continue
		}
		if !inOrder[i] || !w.resized && l.r.Seq != l.Stored.Seq && slices.IsSorted(w.path) {
			w.report(Reordered, l.Stored.Seq, l.Stored.ID, fmt.Sprintf("it was entered as record %d and stands as %d", l.r.Seq, l.Stored.Seq))
		}
	}
}

// end holds the end of the path against what the store and the seals say of it.
func (w *walk) end(c *chainEnd) {
	last := w.last()
	switch {
	case !c.headed && last == nil: // the chain is gone whole, and only a seal knows of it
	case !c.headed:
		w.report(BadHead, w.seq, "", "the store notes no end of this chain")
	case c.head.Seq > w.seq:
		w.report(Removed, w.seq+1, "", fmt.Sprintf("the chain should end with record %d, and the last one there is %d", c.head.Seq, w.seq))
	case c.head.Seq < w.seq || last == nil:
		w.report(BadHead, w.seq, "", fmt.Sprintf("the store notes record %d as the end", c.head.Seq))
	case !last.ends(c.head.Digest) && !w.bad[w.seq]:
		w.report(Altered, w.seq, last.Stored.ID, "the store notes the digest "+c.head.Digest.String()+" for the end of the chain, and this record has "+last.digest.String())
	}
	c.seq = max(w.seq, c.head.Seq)
	digests := map[int64]*link{}
	for _, at := range w.path {
		if l := &w.links[at]; l.honest() {
			digests[l.r.Seq] = l
		}
	}
	marks := append(c.missed, c.marks...)
	c.missed, c.marks = nil, nil
	for _, m := range marks {
		l := digests[m.seq]
		switch {
		case m.seq > c.seq:
			c.marks = append(c.marks, m)
		case l != nil && !l.ends(m.digest) && !w.bad[m.seq]:
			c.missed = append(c.missed, m)
		}
		// A record of which something was reported needs no second word.
	}
}

func count(n int64) string {
	if n == 1 {
		return "a record is"
	}
	return fmt.Sprintf("%d records are", n)
}
