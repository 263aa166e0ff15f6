package fleet

import (
	"context"
	"crypto/ed25519"
	"fmt"
	"log/slog"
	"time"

	"underpin/record"
	"underpin/store"
)

// nightlyJob seals the records and forgets what expired, once a day, by whichever
// copy of the program comes first.
const nightlyJob = "nightly"

const (
	nightlyHour  = 2 // UTC
	nightlyLease = 30 * minute
	keepJobs     = 30 * 24 * hour
)

// A Night is what the nightly work needs.
type Night struct {
	// Key seals the records; nil leaves them unsealed, and the log says so.
	Key ed25519.PrivateKey
	Log *slog.Logger
}

// RunNights does the nightly work whenever it is due, until the context ends. It
// is started by each copy of the program.
func (r *Register) RunNights(ctx context.Context, n Night) {
	log := n.Log
	if log == nil {
		log = slog.New(slog.DiscardHandler)
	}
	tick := time.NewTicker(time.Minute)
	defer tick.Stop()
	for {
		if _, err := r.NightlyOnce(ctx, n); err != nil && ctx.Err() == nil {
			log.Error("nightly work failed", "error", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
	}
}

// NightlyOnce does the nightly work if it is due and nobody else has it, and tells
// whether it did.
func (r *Register) NightlyOnce(ctx context.Context, n Night) (bool, error) {
	now := r.now()
	t := now.Time()
	due := time.Date(t.Year(), t.Month(), t.Day(), nightlyHour, 0, 0, 0, time.UTC)
	if record.At(due) > now {
		due = due.AddDate(0, 0, -1)
	}
	if _, err := r.store.Enqueue(ctx, store.Job{Kind: nightlyJob, Key: due.Format("2006-01-02"), RunAt: record.At(due)}); err != nil {
		return false, err
	}
	job, err := r.store.Claim(ctx, []string{nightlyJob}, now, now+nightlyLease)
	if err != nil || job == nil {
		return false, err
	}
	if err := r.night(ctx, n); err != nil {
		again := r.now() + 10*minute
		if job.Attempts >= 6 {
			again = 0 // the next night tries anew
		}
		if failed := r.store.Retry(ctx, job, again, r.now(), err.Error()); failed != nil {
			return false, fmt.Errorf("%w; and the job could not be given back: %w", err, failed)
		}
		return false, err
	}
	return true, r.store.Finish(ctx, job, r.now())
}

func (r *Register) night(ctx context.Context, n Night) error {
	own := Operator("Underpin")
	r = r.as(&own)
	now := r.now()
	if err := r.store.Purge(ctx, now, now-keepJobs); err != nil {
		return err
	}
	if n.Key == nil {
		if n.Log != nil {
			n.Log.Warn("the records were not sealed: no key was given")
		}
		return nil
	}
	seal, fresh, err := r.Seal(ctx, n.Key)
	if invalidRecords(err) {
		return nil // nothing to seal yet
	}
	if err == nil && fresh && n.Log != nil {
		n.Log.Info("sealed the records", "seal", seal.Number, "records", seal.Records, "digest", seal.Digest.String())
	}
	return err
}

func invalidRecords(err error) bool {
	e, yes := err.(*Invalid)
	return yes && e.At("records") != nil
}

// as is the register as one actor sees it, for work of the program's own.
func (r *Register) as(a *Actor) *Register {
	own := &Register{world: r.world, store: r.store, hash: r.hash, accounts: r.accounts, addresses: r.addresses}
	own.world.Identity = func(context.Context) *Actor { return a }
	return own
}
