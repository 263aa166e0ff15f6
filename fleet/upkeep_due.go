package fleet

import (
	"cmp"
	"context"
	"errors"
	"math"
	"slices"

	"underpin/maintenance"
	"underpin/record"
	"underpin/store"
	"underpin/unit"
	"underpin/wear"
)

// A DueTask is one task of one vehicle and when it is due.
type DueTask struct {
	Vehicle  *record.Vehicle
	Task     maintenance.Task // its key alone where the program does not know it by name
	Interval maintenance.Interval
	Due      maintenance.Due
	Last     record.Time // when it was done last; 0: no record says
}

// DueOf answers what is due at one vehicle, most urgent first.
func (r *Register) DueOf(ctx context.Context, a record.Asset) ([]DueTask, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	q, e, err := r.equipped(ctx, a)
	if err != nil {
		return nil, err
	}
	return r.dueOf(ctx, q, e)
}

// DueList answers what is due at every vehicle in use, of one depot or of all, most
// urgent first. What is not due and what was done once is left out.
func (r *Register) DueList(ctx context.Context, depot record.Asset) ([]DueTask, error) {
	if _, err := r.actor(ctx, Read); err != nil {
		return nil, err
	}
	law, err := r.law(ctx)
	if err != nil {
		return nil, err
	}
	known := r.known(ctx)
	var all []DueTask
	in := store.Query{Kind: record.VehicleAsset, Status: []string{record.StatusActive}}
	if depot != "" {
		in.Depots = []record.Asset{depot}
	}
	err = r.each(ctx, in, func(row *store.Row) error {
		e, err := r.entity(ctx, row.Asset)
		if err != nil {
			return err
		}
		v, err := e.Vehicle(record.Latest)
		if err != nil {
			return err
		}
		q, err := equip(v, law, known)
		if err != nil {
			return err
		}
		due, err := r.dueOf(ctx, q, e)
		for i := range due {
			if due[i].Due.State != maintenance.NotDue && due[i].Due.State != maintenance.DoneOnce {
				all = append(all, due[i])
			}
		}
		return err
	})
	slices.SortStableFunc(all, moreUrgent)
	return all, err
}

func moreUrgent(a, b DueTask) int {
	// What cannot be told stands below what is overdue, whatever day it might be.
	rank := func(d *DueTask) int {
		return map[maintenance.DueState]int{maintenance.Overdue: 0, maintenance.PossiblyOverdue: 1, maintenance.DueSoon: 2, maintenance.CannotTellDue: 3, maintenance.NotDue: 4, maintenance.DoneOnce: 5}[d.Due.State]
	}
	return cmp.Or(cmp.Compare(rank(&a), rank(&b)), a.Due.Compare(b.Due))
}

// dueOf works out what is due at a vehicle. What carries no part that wears has
// nothing due.
func (r *Register) dueOf(ctx context.Context, q *equipment, e *record.Entity) ([]DueTask, error) {
	if len(q.parts) == 0 || q.vehicle.Scrapped != 0 {
		return nil, nil
	}
	t, err := r.travels(ctx, e, q.vehicle)
	if err != nil {
		return nil, err
	}
	now := r.now()
	usage := wear.Usage{}
	if p := t.pace(now); p != nil {
		usage = p.Usage()
	}
	var typed []record.Interval
	for _, y := range q.regime.Types {
		typed = append(typed, y.Intervals...)
	}
	plan, err := maintenance.PlanIntervals(q.setup, typed, nil, nil)
	if err != nil {
		return nil, err
	}
	var all []DueTask
	for _, i := range plan {
		task, known := maintenance.FindTask(i.Task)
		if !known {
			task = maintenance.Task{Key: i.Task, Name: maintenance.Text{English: i.Task}}
		}
		if known && !slices.Contains(q.halves(), task.Half) {
			continue
		}
		d := DueTask{Vehicle: q.vehicle, Task: task, Interval: i, Last: q.lastDone(i.Task)}
		from, ask := d.Last, maintenance.DueAsk{Interval: i, Usage: usage, Today: dateOf(now)}
		if i.Once {
			ask.Since.Settled = d.Last >= q.since && d.Last != 0
			from = q.since
		}
		ask.Since.Distance = unit.Length(math.NaN())
		if from != 0 {
			ask.Since.On = dateOf(from)
			m, err := t.between(from, now)
			if err != nil {
				return nil, err
			}
			if n := len(m.Spans); n > 0 {
				ask.Since.Distance, ask.Since.ReadOn = m.Known, dateOf(m.Spans[n-1].To)
				ask.Since.AtLeast = slices.ContainsFunc(m.Gaps, func(g record.Gap) bool { return g.From < m.Spans[n-1].To })
			}
		}
		if d.Due, err = maintenance.DueOn(ask); err != nil {
			if _, domain := errors.AsType[*unit.DomainError](err); !domain {
				return nil, err
			}
			d.Due = maintenance.Due{State: maintenance.CannotTellDue, Missing: []maintenance.Message{{Text: maintenance.Text{English: err.Error()}}}}
		}
		all = append(all, d)
	}
	slices.SortStableFunc(all, moreUrgent)
	return all, nil
}

// lastDone is when a task was done last since the parts were fitted. A whole
// inspection counts as the full check, and bolts that were tightened again as
// such.
func (q *equipment) lastDone(task string) (at record.Time) {
	if u := q.vehicle.Upkeep; u != nil {
		for _, t := range u.Tasks {
			if t.Task == task {
				at = max(at, t.At)
			}
		}
		for i := range u.Outcomes {
			if o := &u.Outcomes[i]; task == maintenance.FullCheck && o.Verdict != record.VerdictCannotTell {
				at = max(at, o.At)
			}
		}
	}
	for _, b := range q.vehicle.Built {
		if task == maintenance.FirstRetorque && b.Tight != nil {
			at = max(at, b.Tight.At)
		}
	}
	return at
}
