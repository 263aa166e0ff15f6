package yard

import (
	"encoding/json"
	"errors"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"underpin/record"
)

func itemID(n int) record.ID {
	return record.NewID(time.UnixMilli(int64(n)), [10]byte{byte(n), byte(n >> 8)})
}

// server is the other end, as a store would keep it: what it entered, in order,
// and every reply it settled.
type server struct {
	receipts Receipts
	fates    map[record.ID]Reply
	entered  []Item
}

func (s *server) receive(b Batch, bad func(Item) bool) []Reply {
	fresh, next, replies := Receive(s.receipts, b, func(id record.ID) (Reply, bool) {
		r, known := s.fates[id]
		return r, known
	}, func(i Item) string {
		if bad(i) {
			return "no such vehicle"
		}
		return ""
	})
	s.receipts = next
	s.entered = append(s.entered, fresh...)
	for _, r := range replies {
		if _, known := s.fates[r.ID]; !known && r.Fate != Early {
			s.fates[r.ID] = r
		}
	}
	return replies
}

// TestQueueUnderCuts lets a phone and a server talk over a line that loses,
// delays, doubles and reorders what is sent both ways, while the phone is closed
// and opened at any moment. Whatever happens, nothing is entered twice, what is
// entered stands in the order in which it was done, and once the line holds
// everything is there.
func TestQueueUnderCuts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := Queue{Phone: "p", Room: 1 << 40}
		s := &server{fates: map[record.ID]Reply{}}
		bad := func(i Item) bool { return i.Bytes%7 == 3 }
		var done []record.ID // taken in, in order
		var out []Batch
		var back [][]Reply
		take := func(n int) {
			i := Item{ID: itemID(n), Kind: "check", Version: 1, Bytes: int64(n % 10)}
			next, err := q.Take(i)
			if err != nil {
				t.Fatal(err)
			}
			if next.Last > q.Last && !slices.Contains(done, i.ID) {
				done = append(done, i.ID)
			}
			q = next
		}
		n := 0
		for range rapid.IntRange(5, 80).Draw(t, "steps") {
			switch rapid.IntRange(0, 8).Draw(t, "what") {
			case 0, 1:
				n++
				take(n)
			case 2: // tapped twice
				if n > 0 {
					take(rapid.IntRange(1, n).Draw(t, "again"))
				}
			case 3, 4:
				out = append(out, q.Send(rapid.IntRange(1, 5).Draw(t, "most")))
			case 5: // one of what is on the way arrives; it may arrive again later
				if len(out) > 0 {
					i := rapid.IntRange(0, len(out)-1).Draw(t, "arrives")
					b := out[i]
					if cut := rapid.IntRange(0, len(b.Items)).Draw(t, "cut"); rapid.Bool().Draw(t, "cut short") {
						b.Items = b.Items[:cut]
					}
					back = append(back, s.receive(b, bad))
					if !rapid.Bool().Draw(t, "doubled") {
						out = slices.Delete(out, i, i+1)
					}
				}
			case 6:
				if len(back) > 0 {
					i := rapid.IntRange(0, len(back)-1).Draw(t, "reply")
					q = q.Heard(back[i])
					if !rapid.Bool().Draw(t, "heard twice") {
						back = slices.Delete(back, i, i+1)
					}
				}
			case 7: // the line is cut: all on the way is lost
				out, back = nil, nil
			case 8: // the phone is closed and opened
				text, err := json.Marshal(q)
				if err != nil {
					t.Fatal(err)
				}
				var opened Queue
				if err := json.Unmarshal(text, &opened); err != nil {
					t.Fatal(err)
				}
				if again, err := json.Marshal(opened); err != nil || string(again) != string(text) {
					t.Fatalf("%s became %s (%v)", text, again, err)
				}
				q = opened
			}
			noneTwice(t, s.entered)
			inOrder(t, s.entered, done)
		}
		for tries := 0; len(q.Waiting) > 0; tries++ { // now the line holds
			if tries > 200 {
				t.Fatalf("%d items wait for ever; server %+v", len(q.Waiting), s.receipts)
			}
			q = q.Heard(s.receive(q.Send(3), bad))
		}
		noneTwice(t, s.entered)
		inOrder(t, s.entered, done)
		if got := len(s.entered) + len(q.Refused); got != len(done) || s.receipts.Lost != 0 {
			t.Fatalf("%d entered and %d refused of %d, %d lost", len(s.entered), len(q.Refused), len(done), s.receipts.Lost)
		}
		for _, r := range q.Refused {
			if !bad(r.Item) || r.Why != "no such vehicle" {
				t.Fatalf("refused: %+v", r)
			}
		}
	})
}

func noneTwice(t *rapid.T, entered []Item) {
	ids := map[record.ID]bool{}
	for _, i := range entered {
		if ids[i.ID] {
			t.Fatalf("%s entered twice", i.ID)
		}
		ids[i.ID] = true
	}
}

// inOrder proves that what was entered stands as it was done.
func inOrder(t *rapid.T, entered []Item, done []record.ID) {
	from := 0
	for _, i := range entered {
		at := slices.Index(done[from:], i.ID)
		if at < 0 {
			t.Fatalf("%s entered out of order", i.ID)
		}
		from += at + 1
	}
}

func TestQueueIsAValue(t *testing.T) {
	q, err := Queue{Phone: "p", Room: 100}.Take(Item{ID: itemID(1), Bytes: 60})
	if err != nil {
		t.Fatal(err)
	}
	before, _ := json.Marshal(q)
	if _, err := q.Take(Item{ID: itemID(2), Bytes: 60}); err == nil {
		t.Fatal("60 bytes found room in 40")
	} else if full, ok := errors.AsType[*FullError](err); !ok || full.Used != 60 || full.Room != 100 {
		t.Errorf("%v", err)
	}
	next, err := q.Take(Item{ID: itemID(3), Bytes: 40})
	if err != nil {
		t.Fatal(err)
	}
	_ = next.Heard([]Reply{{ID: itemID(1), Number: 1, Fate: Taken}, {ID: itemID(3), Number: 2, Fate: Refused, Reason: "x"}})
	if after, _ := json.Marshal(q); string(after) != string(before) {
		t.Errorf("changed from %s to %s", before, after)
	}
	if len(next.Waiting) != 2 {
		t.Errorf("%d wait", len(next.Waiting))
	}
	if _, err := q.Take(Item{ID: "x"}); err == nil {
		t.Error("an item without an id")
	}
}

func TestQueueReplies(t *testing.T) {
	q := Queue{Phone: "p", Room: 100}
	for n := range 3 {
		q, _ = q.Take(Item{ID: itemID(n + 1), Bytes: 1})
	}
	tests := []struct {
		name             string
		replies          []Reply
		waiting, refused int
	}{
		{"nothing heard", nil, 3, 0},
		{"taken", []Reply{{ID: itemID(1), Number: 1, Fate: Taken}}, 2, 0},
		{"known counts like taken", []Reply{{ID: itemID(1), Number: 1, Fate: Known}}, 2, 0},
		{"refused is kept with its reason", []Reply{{ID: itemID(1), Number: 1, Fate: Refused, Reason: "x"}}, 2, 1},
		{"early waits", []Reply{{ID: itemID(3), Number: 3, Fate: Early}}, 3, 0},
		{"about another", []Reply{{ID: itemID(9), Number: 9, Fate: Taken}}, 3, 0},
		{"about an earlier sending", []Reply{{ID: itemID(1), Number: 7, Fate: Taken}}, 3, 0},
		{"no fate that exists", []Reply{{ID: itemID(1), Number: 1, Fate: "eaten"}}, 3, 0},
		{"twice", []Reply{{ID: itemID(1), Number: 1, Fate: Taken}, {ID: itemID(1), Number: 1, Fate: Refused}}, 2, 0},
	}
	for _, test := range tests {
		got := q.Heard(test.replies)
		if len(got.Waiting) != test.waiting || len(got.Refused) != test.refused {
			t.Errorf("%s: %+v", test.name, got)
		}
		for _, r := range got.Refused {
			if left := got.Seen(r.Item.ID); len(left.Refused) != test.refused-1 {
				t.Errorf("%s: seen and still there", test.name)
			}
		}
	}
}

func TestReceive(t *testing.T) {
	item := func(n, id int) Item { return Item{ID: itemID(id), Number: int64(n)} }
	fates := map[record.ID]Reply{itemID(1): {ID: itemID(1), Number: 1, Fate: Taken}, itemID(2): {ID: itemID(2), Number: 2, Fate: Refused, Reason: "no"}}
	tests := []struct {
		name  string
		last  int64
		batch Batch
		want  []Fate
		next  Receipts
	}{
		{"in order", 2, Batch{Oldest: 3, Items: []Item{item(3, 3), item(4, 4)}}, []Fate{Taken, Taken}, Receipts{Last: 4}},
		{"sent again", 2, Batch{Oldest: 1, Items: []Item{item(1, 1), item(2, 2)}}, []Fate{Known, Refused}, Receipts{Last: 2}},
		{"one is missing", 2, Batch{Oldest: 3, Items: []Item{item(4, 4)}}, []Fate{Early}, Receipts{Last: 2}},
		{"the middle is missing", 2, Batch{Oldest: 3, Items: []Item{item(3, 3), item(5, 5)}}, []Fate{Taken, Early}, Receipts{Last: 3}},
		{"number used by another", 2, Batch{Oldest: 2, Items: []Item{item(2, 7)}}, []Fate{Refused}, Receipts{Last: 2}},
		{"number replayed", 2, Batch{Oldest: 0, Items: []Item{item(0, 7)}}, []Fate{Refused}, Receipts{Last: 2}},
		{"the same twice in one", 2, Batch{Oldest: 3, Items: []Item{item(3, 3), item(3, 3)}}, []Fate{Taken, Known}, Receipts{Last: 3}},
		{"server set back", 0, Batch{Oldest: 5, Items: []Item{item(5, 5)}}, []Fate{Taken}, Receipts{Last: 5, Lost: 4}},
		{"nothing", 2, Batch{}, nil, Receipts{Last: 2}},
	}
	for _, test := range tests {
		fresh, next, replies := Receive(Receipts{Last: test.last}, test.batch, func(id record.ID) (Reply, bool) {
			r, ok := fates[id]
			return r, ok
		}, func(Item) string { return "" })
		var got []Fate
		taken := 0
		for _, r := range replies {
			got = append(got, r.Fate)
			if r.Fate == Taken {
				taken++
			}
		}
		if !slices.Equal(got, test.want) || next != test.next || len(fresh) != taken {
			t.Errorf("%s: %v, %+v, %d fresh; expected %v, %+v", test.name, got, next, len(fresh), test.want, test.next)
		}
	}
}

// TestRenew lets two phones use one name, as a phone set up from another's
// backup does: nothing is lost once one of them takes a new name.
func TestRenew(t *testing.T) {
	s := map[string]*server{}
	send := func(q Queue) Queue {
		if s[q.Phone] == nil {
			s[q.Phone] = &server{fates: map[record.ID]Reply{}}
		}
		return q.Heard(s[q.Phone].receive(q.Send(10), func(Item) bool { return false }))
	}
	a, b := Queue{Phone: "same", Room: 100}, Queue{Phone: "same", Room: 100}
	a, _ = a.Take(Item{ID: itemID(1)})
	a = send(a)
	b, _ = b.Take(Item{ID: itemID(2)})
	b, _ = b.Take(Item{ID: itemID(3)})
	b = send(b)
	if len(b.Refused) != 1 {
		t.Fatalf("%+v", b)
	}
	b = send(b.Renew("other"))
	if len(b.Waiting)+len(b.Refused) != 0 {
		t.Fatalf("%+v", b)
	}
	var all []record.ID
	for _, phone := range []string{"same", "other"} {
		for _, i := range s[phone].entered {
			all = append(all, i.ID)
		}
	}
	if want := []record.ID{itemID(1), itemID(3), itemID(2)}; !slices.Equal(all, want) {
		t.Errorf("entered %v, expected %v", all, want)
	}
}
