package yard

import (
	"fmt"
	"slices"

	"underpin/record"
)

// An Item is one thing that waits on a phone to be sent: a check, a defect.
type Item struct {
	ID      record.ID     `json:"id"`
	Number  int64         `json:"number"`  // 1, 2, 3 … on this phone
	Kind    string        `json:"kind"`    // what the body is
	Version int           `json:"version"` // of the program that wrote it
	Body    record.Digest `json:"body"`    // of the bytes, which lie beside the queue
	Bytes   int64         `json:"bytes"`
	Done    record.Time   `json:"done"` // when it was done, by the phone's clock
}

// A Queue is what waits on one phone, as a value: every method leaves the queue
// it was called on as it was and returns the next one. Who keeps it writes the
// next one down whole before anything else happens; then closing, reloading and
// a new version of the program find it as it was.
//
// It promises: an item that was taken in is sent until the server has said what
// became of it; items are sent in the order in which they were taken in; what
// the server refused stays, with the reason, until a person has seen it.
type Queue struct {
	Phone   string     `json:"phone"` // chosen by chance with the queue, never used again
	Last    int64      `json:"last"`  // number of the item taken in last
	Waiting []Item     `json:"waiting,omitempty"`
	Refused []Rejected `json:"refused,omitempty"`
	Room    int64      `json:"room"` // bytes that may wait, the refused included
}

// A Rejected is an item that the server will not have.
type Rejected struct {
	Item Item   `json:"item"`
	Why  string `json:"why"`
}

// A FullError says that an item found no room. Nothing was taken in and nothing
// was thrown away for it.
type FullError struct{ Bytes, Room, Used int64 }

func (e *FullError) Error() string {
	return fmt.Sprintf("no room for %d bytes: %d of %d are waiting to be sent", e.Bytes, e.Used, e.Room)
}

// Used is how many bytes wait.
func (q Queue) Used() int64 {
	n := int64(0)
	for _, i := range q.Waiting {
		n += i.Bytes
	}
	for _, r := range q.Refused {
		n += r.Item.Bytes
	}
	return n
}

// Take puts an item at the end. The same item taken twice waits once. Without
// room the error is a *FullError and the queue is as it was.
func (q Queue) Take(i Item) (Queue, error) {
	same := func(w Item) bool { return w.ID == i.ID }
	if slices.ContainsFunc(q.Waiting, same) || slices.ContainsFunc(q.Refused, func(r Rejected) bool { return same(r.Item) }) {
		return q, nil
	}
	if !i.ID.Valid() || i.Bytes < 0 {
		return q, &record.RuleError{Field: "item", Found: short(string(i.ID)), Want: "an id and a size"}
	}
	if used := q.Used(); used+i.Bytes > q.Room {
		return q, &FullError{i.Bytes, q.Room, used}
	}
	q.Last++
	i.Number = q.Last
	q.Waiting = append(slices.Clip(q.Waiting), i)
	return q, nil
}

// A Batch is what goes over the line at once.
type Batch struct {
	Phone  string `json:"phone"`
	Oldest int64  `json:"oldest"` // number of the oldest item that waits; nothing before it is on the phone
	Items  []Item `json:"items"`
}

// Send is what to send next: the first items that wait, at most so many. It
// changes nothing, so whatever is cut off is sent again.
func (q Queue) Send(most int) Batch {
	b := Batch{Phone: q.Phone, Items: slices.Clone(q.Waiting[:min(max(most, 0), len(q.Waiting))])}
	if len(q.Waiting) > 0 {
		b.Oldest = q.Waiting[0].Number
	}
	return b
}

// A Reply is what became of one item.
type Reply struct {
	ID     record.ID `json:"id"`
	Number int64     `json:"number"` // as it was sent
	Fate   Fate      `json:"fate"`
	Reason string    `json:"reason,omitempty"` // why it was refused
}

// A Fate is what the server did with an item.
type Fate string

const (
	Taken   Fate = "taken"   // entered now
	Known   Fate = "known"   // it had been entered before
	Refused Fate = "refused" // it will never be entered
	Early   Fate = "early"   // an item before it has not come; send again in order
)

// Heard takes in what the server replied. A reply that comes late, twice or to
// something else changes nothing; items to which nothing was replied wait on.
func (q Queue) Heard(replies []Reply) Queue {
	for _, r := range replies {
		at := slices.IndexFunc(q.Waiting, func(i Item) bool { return i.ID == r.ID && i.Number == r.Number })
		if at < 0 || r.Fate != Taken && r.Fate != Known && r.Fate != Refused {
			continue
		}
		if r.Fate == Refused {
			q.Refused = append(slices.Clip(q.Refused), Rejected{q.Waiting[at], r.Reason})
		}
		q.Waiting = slices.Delete(slices.Clone(q.Waiting), at, at+1)
	}
	return q
}

// Seen forgets a refused item once a person has seen that it was.
func (q Queue) Seen(id record.ID) Queue {
	q.Refused = slices.DeleteFunc(slices.Clone(q.Refused), func(r Rejected) bool { return r.Item.ID == id })
	return q
}

// Receipts is what the server remembers of one phone: the number up to which
// everything has been dealt with.
type Receipts struct {
	Last int64 `json:"last"`
	// Lost counts items that the phone once had an answer for and that are not
	// here: the server was set back to an older state.
	Lost int64 `json:"lost,omitempty"`
}

// Receive decides what to do with a batch from one phone: which of its items are
// new, in order, and what to reply. It keeps nothing; enter what is fresh and the
// receipts that it returns in one transaction, and only then reply.
//
// Fate tells what earlier batches came to, by id: the reply that was given, and
// whether one was. Check says why an item will never be entered, or nothing.
//
// An item whose id is known is answered as before, whatever its number. One
// whose number jumps ahead waits for those before it, unless the phone has none
// before it any more. One whose number was used by another id is refused: two
// queues use one name, and the phone has to take a new one.
func Receive(r Receipts, batch Batch, fate func(record.ID) (Reply, bool), check func(Item) string) (fresh []Item, next Receipts, replies []Reply) {
	now := map[record.ID]Reply{}
	if len(batch.Items) > 0 && batch.Oldest == batch.Items[0].Number && batch.Oldest > r.Last+1 {
		r.Lost += batch.Oldest - r.Last - 1
		r.Last = batch.Oldest - 1
	}
	for _, i := range batch.Items {
		reply, known := now[i.ID]
		if !known {
			reply, known = fate(i.ID)
		}
		switch {
		case known:
			reply.Number = i.Number
			if reply.Fate == Taken {
				reply.Fate = Known
			}
			if i.Number == r.Last+1 { // taken in again after it had been sent
				r.Last = i.Number
			}
		case i.Number <= r.Last:
			reply = Reply{ID: i.ID, Number: i.Number, Fate: Refused, Reason: reasonNumber}
		case i.Number > r.Last+1:
			replies = append(replies, Reply{ID: i.ID, Number: i.Number, Fate: Early})
			continue
		default:
			r.Last = i.Number
			if why := check(i); why != "" {
				reply = Reply{ID: i.ID, Number: i.Number, Fate: Refused, Reason: why}
			} else {
				reply = Reply{ID: i.ID, Number: i.Number, Fate: Taken}
				fresh = append(fresh, i)
			}
		}
		now[i.ID] = reply
		replies = append(replies, reply)
	}
	return fresh, r, replies
}

const reasonNumber = "this number was used before by another item: two phones use one name"

// Renew gives a queue whose name another phone uses a new one. What waits and
// what was refused for its number waits again, in order.
func (q Queue) Renew(phone string) Queue {
	next := Queue{Phone: phone, Room: q.Room}
	var again []Item
	for _, r := range q.Refused {
		if r.Why == reasonNumber {
			again = append(again, r.Item)
		} else {
			next.Refused = append(next.Refused, r)
		}
	}
	again = append(again, q.Waiting...)
	slices.SortStableFunc(again, func(a, b Item) int { return int(a.Number - b.Number) })
	for _, i := range again {
		next.Last++
		i.Number = next.Last
		next.Waiting = append(next.Waiting, i)
	}
	return next
}
